"""Asks that the vehicles themselves lead us to expect: failures to come × the chance to see them.

How many of the failures reach this shop is told by the last year: its asks against the failures
that were to be expected then, by how long a vehicle had not been here.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from inventory.reorder.actions.expected import AsksExpected, expect_asks
from jobs.replacement.failing import InUse, failures_between
from jobs.review.inputs.in_use import Piece, Seen, pieces_in_use, vehicles_seen
from jobs.review.inputs.laws import ShopLaws, shop_laws
from jobs.review.inputs.parts_used import AsksOfAYear, asks_of_the_year, part_shares

WEEKS_AHEAD = 26
YEAR = timedelta(days=364)
# Vehicles not here for so many years, and longer, come less often.
AWAY_YEARS = (1.0, 2.0)
# Before the last year tells: how many of the failures came here, weighing as so many asks.
COMES, COMES_WEIGHS = 0.5, 4.0
# In its first year a shop knows hardly any vehicle from before it.
MOST_NEWCOMERS = 3.0
# How far the figure of a part may be off besides, relative: which part, and who comes; and the asks
# in the weeks ahead that no vehicle on the books explains. Both held the least ranked probability
# score on the demo shop's years before its last one.
DOUBT = 1.2
UNEXPLAINED = 0.05

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Asks for each failure expected, by what fails and by how long the vehicle was away."""

    factor: dict[tuple[bool, int], float]

    def of(self, piece: Piece, as_of: date) -> float:
        return self.factor[piece.sensor, away(piece.seen, as_of)]


def write_expected(as_of: date, *, laws: ShopLaws | None = None) -> int:
    """Write down what the vehicles lead us to expect from a day on; how many rows."""
    return expect_asks(expected_asks(as_of, laws=laws), by_week_from=as_of)


def expected_asks(as_of: date, *, laws: ShopLaws | None = None) -> list[AsksExpected]:
    """Asks of the coming half-year for every part and site that some vehicle may need."""
    known = shop_laws() if laws is None else laws
    seen = vehicles_seen(as_of)
    pieces = pieces_in_use(as_of, known, seen)
    reach = reach_of(as_of, known)
    shares = part_shares(as_of)
    groups = sorted({group_of(piece, as_of) for piece in pieces})
    number = {group: row for row, group in enumerate(groups)}
    failing = failures(
        pieces, known, [number[group_of(piece, as_of)] for piece in pieces], len(groups)
    )
    asked: defaultdict[tuple[int, int], Floats] = defaultdict(lambda: np.zeros(failing.shape[1:]))
    for (application, site, sensor, gone), by_week in zip(groups, failing, strict=True):
        coming = by_week * reach.factor[sensor, gone]
        for part, share in shares.get((application, sensor), {}).items():
            asked[part, site] += share * coming
    return [told(part, site, by_week) for (part, site), by_week in sorted(asked.items())]


def told(part: int, site: int, by_week: Floats) -> AsksExpected:
    """Means by week, and the variance of their sum: chance, the doubt of the laws, and our own."""
    mean = by_week.mean(axis=1) + UNEXPLAINED / WEEKS_AHEAD
    whole = float(mean.sum())
    variance = whole + float(by_week.sum(axis=0).var()) + (DOUBT * whole) ** 2
    return AsksExpected(part=part, site=site, mean=mean.tolist(), variance=variance)


def group_of(piece: Piece, as_of: date) -> tuple[int, int, bool, int]:
    return piece.application, piece.seen.site, piece.sensor, away(piece.seen, as_of)


def away(seen: Seen, as_of: date) -> int:
    """0 for who was here within a year, 1 within two, 2 for who was not."""
    return sum((as_of - seen.on).days > 365 * years for years in AWAY_YEARS)


def failures(
    pieces: Sequence[Piece],
    laws: ShopLaws,
    group: Sequence[int],
    groups: int,
    weeks: Sequence[int] = range(WEEKS_AHEAD + 1),
) -> Floats:
    """(groups, weeks, draws) failures expected of the pieces."""
    families = sorted({piece.family for piece in pieces})
    number = {family: row for row, family in enumerate(families)}
    in_use = InUse.of(
        [min(piece.age_good, piece.age_now) for piece in pieces],
        [piece.age_now for piece in pieces],
        [number[piece.family] for piece in pieces],
    )
    draws = [laws.draws(family) for family in families]
    return failures_between(in_use, draws, group=group, groups=groups, weeks=weeks)


def reach_of(as_of: date, laws: ShopLaws) -> Reach:
    """The last year's asks against the failures that its first day had to expect."""
    then = as_of - YEAR
    seen = vehicles_seen(then)
    pieces = pieces_in_use(then, laws, seen)
    kinds = [(sensor, gone) for sensor in (True, False) for gone in range(len(AWAY_YEARS) + 1)]
    group = [kinds.index((piece.sensor, away(piece.seen, then))) for piece in pieces]
    expected = failures(pieces, laws, group, len(kinds), weeks=(0, 52)).mean(axis=2).sum(axis=1)
    asks = asks_of_the_year(as_of, seen)
    return Reach(
        factor={
            kind: newcomers(kind[0], asks)
            * (asks_away(kind, asks, seen, then) + COMES * COMES_WEIGHS)
            / (float(expected[row]) + COMES_WEIGHS)
            for row, kind in enumerate(kinds)
        }
    )


def asks_away(
    kind: tuple[bool, int], asks: AsksOfAYear, seen: Mapping[int, Seen], then: date
) -> int:
    sensor, gone = kind
    return sum(
        count
        for (vehicle, of_sensor), count in asks.of_vehicle.items()
        if of_sensor == sensor and away(seen[vehicle], then) == gone
    )


def newcomers(sensor: bool, asks: AsksOfAYear) -> float:
    """All asks for each ask of a vehicle that was known: new ones bring the like."""
    known = sum(count for (_, of_sensor), count in asks.of_vehicle.items() if of_sensor == sensor)
    return min(MOST_NEWCOMERS, (asks.whole[sensor] + COMES_WEIGHS) / (known + COMES_WEIGHS))
