"""What moved the margin between two periods: price, cost, mix, volume, and what came off it.

Each bar is the sum of one cell per kind of work, so that it opens into the jobs behind it, and all
cells together are the whole change, to the cent.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from jobs.costing.cents import rounded_to_total


class Cause(StrEnum):
    VOLUME = "volume"
    MIX = "mix"
    PRICE = "price"
    COST = "cost"
    COMEBACKS = "comebacks"
    WRITE_OFFS = "write_offs"
    SERVICE_DATA = "service_data"


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One kind of work in one period: how often, for how much, at what cost. Cents."""

    count: int
    price_cents: int
    cost_cents: int

    @property
    def margin_cents(self) -> int:
        return self.price_cents - self.cost_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """Kinds of work by name, and what came off: comebacks, write-offs, service data. Cents."""

    works: Mapping[str, Work]
    comebacks_cents: int = 0
    write_offs_cents: int = 0
    service_data_cents: int = 0

    @property
    def margin_cents(self) -> int:
        earned = sum(work.margin_cents for work in self.works.values())
        taken_off = self.comebacks_cents + self.write_offs_cents + self.service_data_cents
        return earned - taken_off


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """From the margin of one period to that of another.

    bars : cents by cause; they sum to `after_cents − before_cents`
    cells : cents by cause and kind of work; they sum to the bars
    """

    before_cents: int
    after_cents: int
    bars: Mapping[Cause, int]
    cells: Mapping[tuple[Cause, str], int]


NOTHING = Work(count=0, price_cents=0, cost_cents=0)


def bridge(before: Period, after: Period) -> Bridge:
    """What moved the margin.

    With n₀, n₁ a kind's counts, N₀, N₁ all counts, m₀ its margin apiece before:
    volume n₀·m₀·(N₁/N₀ − 1); mix (n₁ − n₀·N₁/N₀)·m₀; price n₁·(p₁ − p₀); cost −n₁·(c₁ − c₀). A
    kind that is new has no price before, so all it earns is mix; where nothing was done before,
    all is volume.

    Parameters
    ----------
    before, after : periods, cents

    Returns
    -------
    Bridge

    Raises
    ------
    ValueError
        If a kind of work has amounts but was not done once.

    Source: price–volume–mix analysis, a textbook decomposition; odd cents by largest remainder.

    >>> a = Period(works={"body": Work(count=10, price_cents=60000, cost_cents=40000)})
    >>> b = Period(works={"body": Work(count=12, price_cents=75600, cost_cents=48000)})
    >>> {str(cause): cents for cause, cents in bridge(a, b).bars.items() if cents}
    {'volume': 4000, 'price': 3600}
    """
    names = sorted(before.works.keys() | after.works.keys())
    pairs = {
        name: (before.works.get(name, NOTHING), after.works.get(name, NOTHING)) for name in names
    }
    _check(pairs)
    all_before, all_after = (sum(pair[when].count for pair in pairs.values()) for when in (0, 1))
    exact = {}
    for name, (old, new) in pairs.items():
        for cause, amount in _moves(old, new, all_before, all_after).items():
            exact[cause, name] = amount
    cells = dict(zip(exact, rounded_to_total(list(exact.values())), strict=True))
    cells[Cause.COMEBACKS, ""] = before.comebacks_cents - after.comebacks_cents
    cells[Cause.WRITE_OFFS, ""] = before.write_offs_cents - after.write_offs_cents
    cells[Cause.SERVICE_DATA, ""] = before.service_data_cents - after.service_data_cents
    bars = {cause: sum(cents for (of, _), cents in cells.items() if of is cause) for cause in Cause}
    return Bridge(
        before_cents=before.margin_cents, after_cents=after.margin_cents, bars=bars, cells=cells
    )


def _check(pairs: Mapping[str, tuple[Work, Work]]) -> None:
    for name, works in pairs.items():
        for work in works:
            if work.count < 0 or (work.count == 0 and (work.price_cents or work.cost_cents)):
                raise ValueError(f"“{name}” has amounts but a count of {work.count}")


def _moves(old: Work, new: Work, all_before: int, all_after: int) -> dict[Cause, Fraction]:
    if not all_before:
        return {Cause.VOLUME: Fraction(new.margin_cents)}
    if not old.count:
        return {Cause.MIX: Fraction(new.margin_cents)}
    growth = Fraction(all_after, all_before)
    apiece = Fraction(old.margin_cents, old.count)
    grown = Fraction(new.count, old.count)
    return {
        Cause.VOLUME: old.margin_cents * (growth - 1),
        Cause.MIX: (new.count - old.count * growth) * apiece,
        Cause.PRICE: new.price_cents - old.price_cents * grown,
        Cause.COST: old.cost_cents * grown - new.cost_cents,
    }
