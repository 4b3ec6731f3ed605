"""A shop played event by event: what the exact formulas must agree with.

The formulas hold for deliveries that arrive in the order they were placed while the lead time of
an order has its law. Both are so when the supplier keeps one lead time for a long spell: spells are
dealt in the proportions of the law, and only at the change of a spell an order waits for the one
before it.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np

SPELL_DAYS = 500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    unit_fill: float
    job_fill: float
    ready_rate: float
    mean_on_hand: float


@dataclass(slots=True, kw_only=True)
class Shelf:
    """The stock of one part: what is on hand (or owed), what is coming, and what was counted."""

    net: int
    coming: int = 0
    served: int = 0
    asked: int = 0
    whole: int = 0
    jobs: int = 0
    ready_days: float = 0.0
    stock_days: float = 0.0

    def pass_days(self, days: float) -> None:
        if self.net > 0:
            self.ready_days += days
            self.stock_days += days * self.net

    def ask(self, size: int) -> None:
        at_once = min(size, max(self.net, 0))
        self.served += at_once
        self.asked += size
        self.whole += at_once == size
        self.jobs += 1
        self.net -= size

    def receive(self, pieces: int) -> None:
        self.net += pieces
        self.coming -= pieces

    def order(self, reorder_point: int, quantity: int) -> int:
        """Pieces to order now: as many quantities as lift the position above the point."""
        missing = reorder_point + 1 - self.net - self.coming
        pieces = max(0, -(-missing // quantity)) * quantity
        self.coming += pieces
        return pieces


def play(
    rng: np.random.Generator,
    *,
    rate: float,
    sizes: list[float],
    lead_days_in_ten: list[float],
    reorder_point: int,
    order_quantity: int,
    review_days: float,
    days: float,
) -> Played:
    """Asks at random, orders at looks (0 days between looks: at once), deliveries in order.

    ``lead_days_in_ten`` lists ten lead times, each of them a tenth of the law.
    """
    ask_times = np.cumsum(rng.exponential(1 / rate, int(rate * days * 1.02) + 1000))
    ask_sizes = rng.choice(len(sizes), p=sizes, size=len(ask_times)).tolist()
    spells = dealt(rng, lead_days_in_ten, int(days // SPELL_DAYS) + 2)
    shelf = Shelf(net=reorder_point + order_quantity)
    due: deque[tuple[float, int]] = deque()
    now = last_due = 0.0
    next_look = review_days or np.inf
    asks = zip(ask_times.tolist(), ask_sizes, strict=True)
    next_ask, size = next(asks)
    while now < days:
        then = min(next_ask, next_look, due[0][0] if due else np.inf)
        shelf.pass_days(then - now)
        now, looking = then, review_days == 0
        if due and now == due[0][0]:
            shelf.receive(due.popleft()[1])
        elif now == next_look:
            next_look, looking = now + review_days, True
        else:
            shelf.ask(size)
            next_ask, size = next(asks)
        pieces = shelf.order(reorder_point, order_quantity) if looking else 0
        if pieces:
            last_due = max(last_due, now + spells[int(now // SPELL_DAYS)])
            due.append((last_due, pieces))
    return Played(
        unit_fill=shelf.served / shelf.asked,
        job_fill=shelf.whole / shelf.jobs,
        ready_rate=shelf.ready_days / now,
        mean_on_hand=shelf.stock_days / now,
    )


def dealt(rng: np.random.Generator, lead_days_in_ten: list[float], spells: int) -> list[float]:
    """Lead times of the spells: every ten of them hold the ten of the law, shuffled."""
    hands = [rng.permutation(lead_days_in_ten) for _ in range(spells // 10 + 1)]
    return [float(days) for hand in hands for days in hand]
