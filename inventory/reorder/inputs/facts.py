"""What a plan knows before it computes anything: arrays with one entry a part-site."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from inventory.planning.interval import Interval
from inventory.shop.models import ShelfGoal

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WEEKS = 156
WEEKS_A_YEAR = 52
DAYS_A_YEAR = 365.0
LARGEST_ASK = 64
"""An ask for more pieces counts as several asks of at most so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """The part-sites of a plan, sorted; finds the row of a part and a site."""

    part: Ints
    site: Ints

    @property
    def code(self) -> Ints:
        return coded(self.part, self.site)

    def of(self, part: Ints, site: Ints) -> Ints:
        """Rows of pairs that are all in the plan."""
        return np.asarray(np.searchsorted(self.code, coded(part, site)), dtype=np.int64)

    def total(self, facts: Ints) -> Ints:
        """Sums of (part, site, pieces) rows; pairs that are not in the plan are left out."""
        inside = np.isin(coded(facts[:, 0], facts[:, 1]), self.code)
        part, site, pieces = facts[inside].T
        summed = np.bincount(self.of(part, site), weights=pieces, minlength=len(self.part))
        return np.asarray(summed, dtype=np.int64)


def coded(part: Ints, site: Ints) -> Ints:
    return (part << 20) | site


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """What was asked for, (n, WEEKS) by week, oldest first, and what the vehicles promise.

    `kind` numbers the `kinds` of part.
    """

    kinds: Sequence[str]
    occasions: Ints
    exposure_days: Ints
    asks_by_size: Ints
    kind: Ints
    group: Ints
    week_of_year: Ints
    coming_week: int
    half_life_weeks: float
    expected_mean: Floats
    expected_variance: Floats
    expected_days: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """Valid offers, part by part; the last row is nobody's, for parts that no supplier offers.

    `supplier` is a row of the suppliers and of the interval laws. Prices are by ascending
    quantity; one that does not exist starts at infinity.
    """

    pk: Ints
    supplier: Ints
    pack: Ints
    least_pieces: Ints
    from_pieces: Floats
    unit_cents: Floats
    fixed_cents: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Pieces: usable on the shelf, on the way, held for jobs, and on the way for a job.

    `older` are free pieces of the parts that this one took the place of; they go first.
    """

    on_hand: Ints
    on_order: Ints
    held: Ints
    owed: Ints
    older: Ints

    @property
    def position(self) -> Ints:
        return self.on_hand + self.older + self.on_order - self.held - self.owed


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What an ask that finds the shelf empty costs, and what keeping stock costs.

    margin_cents : (n,) per piece, what selling it earns, without tax
    lost_cents : (n,) per piece, the margin that goes with a customer who does not wait
    rush_cents : (n,) per piece, what those bought in a hurry cost more
    delay_cents : per ask, the labour of finding it elsewhere and booking again
    line_cents : per year and part on the shelf, the labour of counting it
    holding_rate : per year, of the cost of what is kept
    """

    margin_cents: Floats
    lost_cents: Floats
    rush_cents: Floats
    delay_cents: float
    line_cents: float
    holding_rate: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Goals:
    """What the shop plans its shelf to, and the goals that parts have of their own.

    target : share of jobs, for all parts
    class_targets : the same for classes A, B and C
    own_target : (n,) share of jobs that a part has for itself; NaN where it has none
    at_least : (n,) pieces that are kept whatever the figures say; 0 where nobody said
    when_asked : (n,) bought when asked, because somebody said so
    told : by row, the goal in words as the plan keeps them
    """

    shelf: ShelfGoal
    target: float
    class_targets: tuple[float, ...]
    own_target: Floats
    at_least: Ints
    when_asked: NDArray[np.bool_]
    told: Mapping[int, dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIns:
    """Rows of specific parts and of the universal ones of their site that may serve instead.

    Of one specific part the universal one that shares most vehicles with it comes first.
    `share` is of those who find the specific part out, who take the universal one.
    """

    specific: Ints
    universal: Ints
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanInputs:
    """The offers of a row's part are `offer_count` rows of the offers from `first_offer` on.

    `superseded` parts are bought no more; `notes` are what to know of a row beside its figures.
    """

    as_of: date
    rows: Rows
    history: History
    stock: Stock
    offers: Offers
    first_offer: Ints
    offer_count: Ints
    supplier: Ints
    interval: Interval
    worth: Worth
    goals: Goals
    stand_ins: StandIns
    superseded: NDArray[np.bool_]
    notes: Sequence[str]

    def of_rows(self, rows: Ints) -> Self:
        """What decides how many of some rows are kept; history and stock stay whole."""
        goals, worth = self.goals, self.worth
        return replace(
            self,
            rows=Rows(part=self.rows.part[rows], site=self.rows.site[rows]),
            first_offer=self.first_offer[rows],
            offer_count=self.offer_count[rows],
            worth=replace(
                worth,
                margin_cents=worth.margin_cents[rows],
                lost_cents=worth.lost_cents[rows],
                rush_cents=worth.rush_cents[rows],
            ),
            goals=replace(
                goals,
                own_target=goals.own_target[rows],
                at_least=goals.at_least[rows],
                when_asked=goals.when_asked[rows],
            ),
            superseded=self.superseded[rows],
        )
