"""A shop of several parts played job by job: what whole-job fill and overflow must agree with.

A job asks for all its parts at once. What is there is taken; a part that is out is taken another
way (body and stem, a universal sensor) where all of that way is there; else it is owed, or, where
the customer does not wait, gone. Orders go out at looks and come after a fixed lead time.
"""

import heapq
from dataclasses import dataclass, field

import numpy as np

Need = tuple[int, int]
"""A part and the pieces of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """
    jobs : what each pattern needs
    rates : jobs a day of each pattern
    instead : ways to do without a part, the first that is there is taken
    share : of those who find a part out, who take another way
    owes : whether a part that nothing stands in for is owed from the next delivery
    """

    jobs: list[list[Need]]
    rates: list[float]
    points: list[int]
    quantities: list[int]
    lead_days: list[float]
    review_days: float = 0.0
    instead: dict[int, list[list[Need]]] = field(default_factory=dict)
    share: float = 1.0
    owes: bool = True


@dataclass(slots=True, kw_only=True)
class Played:
    """
    asked, whole : by pattern, jobs and those that had everything
    wanted, itself, instead : by part, asks, asks served by itself, asks served another way
    sent, served : by part, asks sent on to it and those of them that it served
    """

    asked: np.ndarray
    whole: np.ndarray
    wanted: np.ndarray
    itself: np.ndarray
    instead: np.ndarray
    sent: np.ndarray
    served: np.ndarray

    @classmethod
    def none(cls, jobs: int, parts: int) -> "Played":
        by_part = {
            name: np.zeros(parts) for name in ("wanted", "itself", "instead", "sent", "served")
        }
        return cls(asked=np.zeros(jobs), whole=np.zeros(jobs), **by_part)


@dataclass(slots=True, kw_only=True)
class Shelves:
    shop: Shop
    net: list[int]
    coming: list[int]

    def have(self, needs: list[Need]) -> bool:
        return all(self.net[part] >= pieces for part, pieces in needs)

    def take(self, needs: list[Need]) -> None:
        for part, pieces in needs:
            self.net[part] -= pieces

    def order(self, part: int) -> int:
        missing = self.shop.points[part] + 1 - self.net[part] - self.coming[part]
        quantity = self.shop.quantities[part]
        pieces = max(0, -(-missing // quantity)) * quantity
        self.coming[part] += pieces
        return pieces


def play_jobs(rng: np.random.Generator, shop: Shop, *, jobs: int) -> Played:
    rates = np.array(shop.rates)
    times = np.cumsum(rng.exponential(1 / rates.sum(), jobs)).tolist()
    kinds = rng.choice(len(rates), p=rates / rates.sum(), size=jobs).tolist()
    willing = (rng.random(jobs) < shop.share).tolist()
    parts = len(shop.points)
    filled = [
        point + quantity for point, quantity in zip(shop.points, shop.quantities, strict=True)
    ]
    shelves = Shelves(shop=shop, net=filled, coming=[0] * parts)
    played = Played.none(len(rates), parts)
    due: list[tuple[float, int, int]] = []
    next_look = shop.review_days
    for now, kind, takes in zip(times, kinds, willing, strict=True):
        while shop.review_days and next_look <= now:
            arrive(shelves, due, next_look)
            place(shelves, due, range(parts), next_look)
            next_look += shop.review_days
        arrive(shelves, due, now)
        serve(shelves, played, kind, takes)
        if not shop.review_days:
            place(shelves, due, range(parts), now)
    return played


def arrive(shelves: Shelves, due: list[tuple[float, int, int]], now: float) -> None:
    while due and due[0][0] <= now:
        _, part, pieces = heapq.heappop(due)
        shelves.net[part] += pieces
        shelves.coming[part] -= pieces


def place(shelves: Shelves, due: list[tuple[float, int, int]], parts: range, now: float) -> None:
    for part in parts:
        pieces = shelves.order(part)
        if pieces:
            heapq.heappush(due, (now + shelves.shop.lead_days[part], part, pieces))


def serve(shelves: Shelves, played: Played, kind: int, takes: bool) -> None:
    played.asked[kind] += 1
    whole = True
    for part, pieces in shelves.shop.jobs[kind]:
        whole &= serve_need(shelves, played, part, pieces, takes)
    played.whole[kind] += whole


def serve_need(shelves: Shelves, played: Played, part: int, pieces: int, takes: bool) -> bool:
    played.wanted[part] += 1
    if shelves.have([(part, pieces)]):
        shelves.take([(part, pieces)])
        played.itself[part] += 1
        return True
    ways = shelves.shop.instead.get(part, []) if takes else []
    for way in ways:
        needs = [(member, each * pieces) for member, each in way]
        for member, _ in needs:
            played.sent[member] += 1
        if shelves.have(needs):
            shelves.take(needs)
            played.instead[part] += 1
            for member, _ in needs:
                played.served[member] += 1
            return True
    if shelves.shop.owes:
        shelves.take([(part, pieces)])
    return False
