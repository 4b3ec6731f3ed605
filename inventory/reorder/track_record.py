"""The shop's own past played again under this plan, beside what happened.

Every four weeks the plan learns what was known then, and every week it weighs the season anew; its
reorder points meet the asks that really came, from the stock that really lay there at first. What
it orders waits as suppliers were seen to deliver up to the last plan, for that is what happened.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from inventory.catalog.models import Part
from inventory.ledger.models import Ask
from inventory.planning.interval import Interval
from inventory.planning.replay import PastAsks, Replayed, Rules, replay
from inventory.reorder.figures import plan_figures
from inventory.reorder.inputs import plan_inputs
from inventory.reorder.inputs.asks import read_usable_by_day, week_of_year
from inventory.reorder.inputs.facts import Floats, Ints, PlanInputs
from inventory.reorder.inputs.track import (
    PastAsk,
    cents_a_piece,
    on_hand_by_day,
    past_asks,
)
from inventory.shop.amounts import money_text, percent_text
from inventory.shop.models import ShopSettings, Site
from inventory.templatetags.charts import Line, LineChart

WEEKS_PLAYED, WEEKS_A_PLAN = 52, 4
# A plan needs something to learn from, and a record something to tell.
WEEKS_TO_LEARN, LEAST_WEEKS = 13, 8
MISSES_TOLD = 10
SEED = 20_260_304


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """Asks filled whole from the shelf and money on it on average, in fact and under the plan."""

    first: date
    asks: int
    filled: int
    filled_by_plan: int
    cents: int
    cents_by_plan: int

    @property
    def share(self) -> float | None:
        return self.filled / self.asks if self.asks else None

    @property
    def share_by_plan(self) -> float | None:
        return self.filled_by_plan / self.asks if self.asks else None


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedAsk:
    ask: PastAsk
    had: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Miss:
    """One part that the plan would have missed most, with the asks it missed."""

    part: Part
    asks: int
    missed_in_fact: int
    missed: tuple[MissedAsk, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackRecord:
    first: date
    last: date
    whole: Month
    months: list[Month]
    misses: list[Miss]
    pictures: tuple[LineChart, ...]


def track_record(site: Site, shop: ShopSettings, *, today: date) -> TrackRecord | None:
    """None until there are weeks enough to learn from and to tell of."""
    oldest = Ask.objects.filter(site=site).order_by("day").values_list("day", flat=True).first()
    if oldest is None:
        return None
    weeks = ((today - oldest).days // 7) - WEEKS_TO_LEARN
    if weeks < LEAST_WEEKS:
        return None
    last = today - timedelta(days=1)
    first = today - timedelta(weeks=min(weeks, WEEKS_PLAYED))
    asks = past_asks(site, first, last)
    parts, rules, waits = planned(site, first, last, asks)
    lay = on_hand_by_day(site, parts, first, last)
    played = replay(
        lay[:, 0],
        as_played(asks, parts, first),
        rules,
        waits,
        n_days=lay.shape[1] - 1,
        rng=np.random.default_rng(SEED),
    )
    cost = cents_a_piece(parts)
    cents, by_plan = cost @ lay[:, 1:], cost @ played.on_hand
    months = list(by_month(first, last, asks, played, cents, by_plan))
    return TrackRecord(
        first=first,
        last=last,
        whole=month_of(first, asks, played.filled, cents, by_plan),
        months=months,
        misses=list(worst(asks, played)),
        pictures=pictures(months, shop),
    )


def planned(
    site: Site, first: date, last: date, asks: list[PastAsk]
) -> tuple[Ints, list[Rules], Floats]:
    """The parts played, the rules of every week, and the laws of the last plan's waits."""
    days = range(0, (last - first).days + 1, 7)
    moved = read_usable_by_day(first, list(Site.objects.selling()))
    learned = {
        # The days of what moved are counted from the first day that a plan looks at.
        day: plan_inputs(first + timedelta(days=day), moved=moved - np.array([0, 0, day, 0]))
        for day in days[::WEEKS_A_PLAN]
    }
    here = [facts.rows.part[facts.rows.site == site.pk] for facts in learned.values()]
    asked = np.array([ask.part for ask in asks], dtype=np.int64)
    parts = np.unique(np.concatenate([*here, asked]))
    rules = []
    for day in days:
        facts = learned[day - day % (7 * WEEKS_A_PLAN)]
        week = week_of_year(first + timedelta(days=day + 4))
        in_season = replace(facts, history=replace(facts.history, coming_week=week))
        rules.append(rules_of(in_season, site, parts, day))
    return parts, rules, chances_by_day(facts.interval)


def rules_of(facts: PlanInputs, site: Site, parts: Ints, day: int) -> Rules:
    """What the plan of a day would have kept; what it did not know is bought when asked."""
    figures = plan_figures(facts)
    here = np.flatnonzero(facts.rows.site == site.pk)
    place = np.searchsorted(parts, facts.rows.part[here])
    point, quantity = np.full(len(parts), -1), np.ones(len(parts), dtype=np.int64)
    law = np.zeros(len(parts), dtype=np.int64)
    point[place] = figures.policy.reorder_point[here]
    quantity[place] = figures.policy.order_quantity[here]
    law[place] = figures.law[here]
    return Rules(first_day=day, reorder_point=point, order_quantity=quantity, law=law)


def chances_by_day(interval: Interval) -> Floats:
    """Chances of a whole number of days; the part of a day that is waited besides is rounded."""
    days = np.round(interval.lead_time_days + interval.review_days[:, None] / 2).astype(int)
    chances = np.zeros((len(days), int(days.max()) + 1))
    for law, (wait, chance) in enumerate(zip(days, interval.chance, strict=True)):
        np.add.at(chances[law], wait, chance)
    return np.asarray(chances / chances.sum(axis=1, keepdims=True))


def as_played(asks: list[PastAsk], parts: Ints, first: date) -> PastAsks:
    return PastAsks(
        part=np.searchsorted(parts, np.array([ask.part for ask in asks], dtype=np.int64)),
        day=np.array([(ask.day - first).days for ask in asks], dtype=np.int64),
        pieces=np.array([ask.pieces for ask in asks], dtype=np.int64),
    )


def by_month(
    first: date,
    last: date,
    asks: list[PastAsk],
    played: Replayed,
    cents: Floats,
    by_plan: Floats,
) -> Iterator[Month]:
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    months = np.array([day.year * 12 + day.month for day in days])
    of_ask = months[[(ask.day - first).days for ask in asks]] if asks else months[:0]
    for month in np.unique(months):
        some, those = months == month, np.flatnonzero(of_ask == month)
        yield month_of(
            days[int(np.flatnonzero(some)[0])],
            [asks[number] for number in those],
            played.filled[those],
            cents[some],
            by_plan[some],
        )


def month_of(
    first: date, asks: list[PastAsk], filled: NDArray[np.bool_], cents: Floats, by_plan: Floats
) -> Month:
    return Month(
        first=first,
        asks=len(asks),
        filled=sum(ask.was_filled for ask in asks),
        filled_by_plan=int(filled.sum()),
        cents=round(float(cents.mean())),
        cents_by_plan=round(float(by_plan.mean())),
    )


def worst(asks: list[PastAsk], played: Replayed) -> Iterator[Miss]:
    """The parts that the plan would have missed most often."""
    of_part: dict[int, list[int]] = defaultdict(list)
    for number, ask in enumerate(asks):
        of_part[ask.part].append(number)

    def missed(part: int) -> list[int]:
        return [number for number in of_part[part] if not played.filled[number]]

    most = sorted(of_part, key=lambda part: (-len(missed(part)), part))[:MISSES_TOLD]
    parts = Part.objects.in_bulk(most)
    for part in most:
        numbers = missed(part)
        if numbers:
            yield Miss(
                part=parts[part],
                asks=len(of_part[part]),
                missed_in_fact=sum(not asks[number].was_filled for number in of_part[part]),
                missed=tuple(
                    MissedAsk(ask=asks[number], had=int(played.had[number])) for number in numbers
                ),
            )


def pictures(months: list[Month], shop: ShopSettings) -> tuple[LineChart, ...]:
    names = {float(number): f"{month.first:%b}" for number, month in enumerate(months)}
    rows = {float(number): f"{month.first:%Y-%m}" for number, month in enumerate(months)}
    unit = 10.0**shop.minor_digits
    filled = [(number, month) for number, month in enumerate(months) if month.asks]
    few = {key: name for key, name in names.items() if key % 2 == 0}
    fill = LineChart(
        title="Asks filled whole from the shelf, by month",
        description="Asks filled in the worst month: by this plan "
        f"{_worst(month.share_by_plan for _, month in filled)}, in fact "
        f"{_worst(month.share for _, month in filled)}.",
        x_label="month",
        y_label="filled, %",
        lines=[
            Line(
                label="this plan",
                points=[(float(n), 100 * (month.share_by_plan or 0)) for n, month in filled],
            ),
            Line(
                label="in fact",
                points=[(float(n), 100 * (month.share or 0)) for n, month in filled],
            ),
        ],
        x_names=few,
        row_names=rows,
        y_top=100,
    )
    money = LineChart(
        title="Money on the shelf, by month",
        description="On average over the month, at what the pieces cost: by this plan "
        f"{_least_most([month.cents_by_plan for month in months], shop)}, in fact "
        f"{_least_most([month.cents for month in months], shop)}.",
        x_label="month",
        y_label=shop.currency,
        lines=[
            Line(
                label="this plan",
                points=[(float(n), month.cents_by_plan / unit) for n, month in enumerate(months)],
            ),
            Line(
                label="in fact",
                points=[(float(n), month.cents / unit) for n, month in enumerate(months)],
            ),
        ],
        x_names=few,
        row_names=rows,
    )
    return (fill, money) if filled else (money,)


def _worst(shares: Iterable[float | None]) -> str:
    return percent_text(min((share or 0.0 for share in shares), default=0.0))


def _least_most(cents: list[int], shop: ShopSettings) -> str:
    return f"{money_text(min(cents), shop)} to {money_text(max(cents), shop)}"
