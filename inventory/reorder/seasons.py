"""Seasons as the plan sees them: how much busier each week of the year is, by kind of part."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.catalog.models import PartKind
from inventory.reorder.inputs.asks import week_of_year
from inventory.reorder.inputs.facts import WEEKS_A_YEAR
from inventory.reorder.models import PlanRun
from inventory.templatetags.charts import AT_MOST, Line, LineChart

# How far ahead a busy time is told.
WEEKS_AHEAD = 26
# A week is busy from so many times the average on.
BUSY = 1.25
MONTHS = ("Jan", "Mar", "May", "Jul", "Sep", "Nov")


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """A week, how many times the average it is, and how far away."""

    first: date
    weight: float
    weeks_ahead: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """One kind of part through the year."""

    kind: str
    asks: int
    weights: Sequence[float]
    now: float
    ahead: Peak
    quietest: float

    @property
    def label(self) -> str:
        return PartKind(self.kind).label

    @property
    def is_busy_ahead(self) -> bool:
        return self.ahead.weight >= BUSY


@dataclass(frozen=True, slots=True, kw_only=True)
class Seasons:
    found: list[Season]
    picture: LineChart | None

    @property
    def busiest(self) -> Season | None:
        """The kind whose busy time ahead stands out most."""
        busy = [one for one in self.found if one.is_busy_ahead]
        return max(busy, key=lambda one: one.ahead.weight, default=None)


def seasons(run: PlanRun | None, *, today: date) -> Seasons:
    """Kinds by how often they are asked for; empty where no plan has told any."""
    told = run.figures.get("seasons", {}) if run else {}
    found = [season(kind, facts["asks"], facts["weights"], today) for kind, facts in told.items()]
    found.sort(key=lambda one: -one.asks)
    return Seasons(found=found, picture=picture(found[:AT_MOST], today) if found else None)


def season(kind: str, asks: int, weights: Sequence[float], today: date) -> Season:
    monday = today - timedelta(days=today.weekday())
    weeks = [monday + timedelta(weeks=number) for number in range(WEEKS_AHEAD)]
    peaks = [
        Peak(first=first, weight=weights[middle_week(first)], weeks_ahead=number)
        for number, first in enumerate(weeks)
    ]
    return Season(
        kind=kind,
        asks=asks,
        weights=weights,
        now=peaks[0].weight,
        ahead=max(peaks, key=lambda peak: peak.weight),
        quietest=min(weights),
    )


def middle_week(monday: date) -> int:
    """The week of the year in which the middle of a week falls."""
    return week_of_year(monday + timedelta(days=3))


def picture(found: Sequence[Season], today: date) -> LineChart:
    busiest = max(found, key=lambda one: max(one.weights))
    return LineChart(
        title="How busy each week of the year is, by kind of part",
        description=f"{busiest.label} swings most: up to {max(busiest.weights):.1f} times an "
        f"average week, down to {busiest.quietest:.1f}.",
        x_label="week of the year",
        y_label="times an average week",
        lines=[
            Line(
                label=one.label,
                points=[(float(week), weight) for week, weight in enumerate(one.weights, 1)],
            )
            for one in found
        ],
        x_names={
            1.0 + round(number * WEEKS_A_YEAR / len(MONTHS)): month
            for number, month in enumerate(MONTHS)
        },
        row_names={float(week): str(week) for week in range(1, WEEKS_A_YEAR + 1)},
        marks=[(1.0 + week_of_year(today), "today")],
    )
