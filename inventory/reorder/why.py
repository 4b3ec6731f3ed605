"""Why this many: the snapshot of a plan line told in three sentences, tables and pictures.

The figures are those the plan wrote down; only the service one piece either side of the reorder
point is computed again, from the same laws. What the past looked like is drawn in `pictures`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from inventory.planning.demand import Demand, TableSizes, interval_demand
from inventory.planning.interval import Interval
from inventory.planning.policy import policy_service
from inventory.reorder.inputs.one_part import PartPast, part_past
from inventory.reorder.models import PlanLine
from inventory.reorder.pictures import past_pictures
from inventory.shop.amounts import count_text, day_text, money_text, percent_figure, percent_text
from inventory.shop.models import ShopSettings
from inventory.templatetags.charts import Bar, BarChart, Chart

BARS = 20
# Once in twenty years; what stands in more rarely is not told.
LEAST_A_WEEK = 0.001
CLASS_SPANS = {"A": "the first 80%", "B": "the next 15%", "C": "the last 5%"}
# What every line keeps of its reasons; see the action that writes the plan.
BEHIND = {
    "asks_seen",
    "season",
    "rate_shape",
    "unit_cents",
    "keeping_cents",
    "serving_cents",
    "sizes",
}


@dataclass(frozen=True, slots=True)
class Row:
    label: str
    value: str
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Service and stock if the reorder point were this one."""

    reorder_point: int
    job_fill: float
    unit_fill: float
    ready_rate: float
    mean_on_hand: float
    keeping_cents: int
    chosen: bool

    @property
    def job_fill_percent(self) -> str:
        return percent_figure(self.job_fill, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """`aim` says which target the line has, and from where."""

    sentences: tuple[str, ...]
    aim: str
    rows: tuple[Row, ...]
    levels: tuple[Level, ...]
    picture: BarChart | None
    past: tuple[Chart, ...]


def why(line: PlanLine, shop: ShopSettings) -> Why:
    past = part_past(line)
    pictures = tuple(past_pictures(past, shop))
    if line.is_superseded or not is_explained(line):
        told = _bought_no_more(line) if line.is_superseded else (_not_kept(line),)
        return Why(
            sentences=(*told, _position(line)),
            aim="",
            rows=(),
            levels=(),
            picture=None,
            past=pictures,
        )
    return Why(
        sentences=(_usage(line), _reorder_point(line, shop), _position(line)),
        aim=aim_sentence(line, shop),
        rows=tuple(_rows(line, past, shop)),
        levels=tuple(levels(line)),
        picture=picture(line),
        past=pictures,
    )


def is_explained(line: PlanLine) -> bool:
    """Whether the plan kept the laws behind this line; one loaded from elsewhere may not have."""
    laws = line.run.figures.get("laws", {})
    return line.figures.keys() >= BEHIND and str(line.supplier_id) in laws


def _not_kept(line: PlanLine) -> str:
    return (
        f"The figures behind this line of {line.part} were not kept with the plan; "
        "plan again to see why."
    )


def _bought_no_more(line: PlanLine) -> tuple[str, str]:
    return line.words, f"Who asks for {line.part} is counted among the asks for the newer part."


def _usage(line: PlanLine) -> str:
    seen, expected = line.figures["asks_seen"], line.figures.get("expected", 0.0)
    stands_in = f", and {often(line.sent_on)} stand in for parts that are out"
    stands_in = stands_in if line.sent_on >= LEAST_A_WEEK else ""
    lead = f"the vehicles on the books lead us to expect {expected:.1f} in half a year"
    if not seen:
        guide = lead if expected else "parts of its kind are the guide"
        return f"Nobody asked for {line.part} here in the weeks looked at; {guide}{stands_in}."
    told = (
        f"{count_text(seen, 'ask')} in the weeks looked at, recent ones weighing more, "
        f"make {often(line.asks - line.sent_on)}{stands_in}, {line.size_mean:.1f} pieces each"
    )
    return f"{told}; as they are few, it counts that {lead}." if expected else f"{told}."


def _reorder_point(line: PlanLine, shop: ShopSettings) -> str:
    asked = "it is bought when asked"
    if line.is_bought_when_asked and line.figures.get("goal", {}).get("kind") == "asked":
        return f"Nothing of it is kept on the shelf: {asked}, by its own goal."
    if line.is_bought_when_asked:
        keeping, saving = (
            money_text(round(line.figures[name]), shop)
            for name in ("keeping_cents", "serving_cents")
        )
        return f"Keeping it on the shelf would cost {keeping} a year and save {saving}; {asked}."
    # Where no more is kept than its own goal says, the shop's target is not what was aimed at.
    missed = line.own_goal and (line.job_fill or 0) < (line.target or 0)
    target = "" if line.target is None or missed else f" (target {percent(line.target)})"
    return (
        f"An order and its delivery take {line.lead_days:.1f} days on average; reordering at "
        f"{line.reorder_point}, {percent(line.job_fill)} of asks find all they need on the shelf"
        f"{target}."
    )


def aim_sentence(line: PlanLine, shop: ShopSettings) -> str:
    """Which target the line has and from where: its own, its class's, none, or the shop's."""
    goal, brought, miss = (line.figures.get(name) for name in ("goal", "class", "miss_cents"))
    kept = not line.is_bought_when_asked
    its_target = "Its target is" if kept else "If it were kept, its target would be"
    if goal:
        by = f" by {goal['by']}" if goal["by"] else ""
        day = day_text(date.fromisoformat(goal["on"]), shop)
        return f"Its own goal, {goal['what']}, was set{by} on {day}: {goal['words'].rstrip('.')}."
    if brought:
        return (
            f"{its_target} {percent(line.target)} because it is in class {brought['name']}, the "
            f"parts that bring {CLASS_SPANS[brought['name']]} of the margin at {line.site}: it "
            f"brings {money_text(brought['margin_cents'], shop)} a year, "
            f"{percent_text(brought['share'], 1)} of it."
        )
    if miss is not None:
        piece = round(line.run.figures["holding_rate"] * line.figures["unit_cents"])
        return (
            f"It has no target but whatever costs least: an ask that finds none of it costs "
            f"{money_text(miss, shop)} in margin, rush and time, holding a piece for a year "
            f"{money_text(piece, shop)}."
        )
    return f"{its_target} the shop's for all parts, {percent(line.target)} of jobs."


def _position(line: PlanLine) -> str:
    older = f", {line.older} of what it superseded" if line.older else ""
    figures = (
        f"{line.on_hand} here{older} and {line.on_order} coming, less {line.promised} promised, "
        f"leave {line.position}"
    )
    point = "" if line.is_bought_when_asked else f", reorder point {line.reorder_point}"
    if line.suggested_packs:
        return f"{figures}{point}: order {line.suggested_pieces}."
    return f"{figures}{point}: nothing to order."


def _rows(line: PlanLine, past: PartPast, shop: ShopSettings) -> Iterator[Row]:
    figures = line.figures
    season = figures["season"]
    yield Row("Asks", often(line.asks), f"an average week's × {season:.2f} for the time of year")
    if line.sent_on >= LEAST_A_WEEK:
        yield Row("Of them standing in", often(line.sent_on), "for parts that are out here")
    yield Row("Pieces an ask", f"{line.size_mean:.2f}", _sizes(line))
    yield Row("Order to delivery, days", f"{line.lead_days:.1f}", _waits(past))
    yield Row("Job fill", percent(line.job_fill), "asks whose whole quantity is on the shelf")
    yield Row("Unit fill", percent(line.unit_fill), "pieces served from the shelf at once")
    yield Row("Ready rate", percent(line.ready_rate), "time with at least one piece there")
    yield Row("Stock on average", f"{line.mean_on_hand or 0:.1f}", "pieces")
    yield Row("Order quantity", str(line.order_quantity), _packs(line, shop))
    yield Row("Keeping it, a year", money_text(round(figures["keeping_cents"]), shop))
    yield Row(
        "Saved, a year", money_text(round(figures["serving_cents"]), shop), "jobs not delayed"
    )


def _waits(past: PartPast) -> str:
    seen = sum(past.deliveries_by_days.values())
    told = (
        f"{count_text(seen, 'delivery', 'deliveries')} seen" if seen else "as the supplier states"
    )
    return f"{told}, with the wait for an order day"


def _sizes(line: PlanLine) -> str:
    likely = [(int(size), chance) for size, chance in line.figures["sizes"].items()]
    told = [f"{size} in {percent(chance)}" for size, chance in likely if chance >= 0.05]
    return ", ".join(told[:4])


def _packs(line: PlanLine, shop: ShopSettings) -> str:
    if line.pack_price_cents is None:
        return "no price known"
    price = money_text(line.pack_price_cents, shop)
    return f"{price} each" if line.pack == 1 else f"packs of {line.pack} at {price}"


def often(asks_a_week: float) -> str:
    """A rate in the unit in which it is easiest to picture."""
    for a_week, unit in ((1.0, "week"), (0.25, "month")):
        if asks_a_week >= a_week:
            return f"{asks_a_week * (1 if unit == 'week' else 365 / 84):.1f} a {unit}"
    return f"{asks_a_week * 365 / 7:.1f} a year"


def percent(share: float | None) -> str:
    return "not known" if share is None else percent_text(share)


def levels(line: PlanLine) -> Iterator[Level]:
    """The reorder point and one piece either side of it, by the laws the plan used."""
    points = [n for n in range(line.reorder_point - 1, line.reorder_point + 2) if n >= -1]
    found = policy_service(
        demand_of(line, len(points)),
        interval_of(line),
        reorder_point=points,
        order_quantity=np.full(len(points), line.order_quantity),
    )
    holding = line.run.figures["holding_rate"] * line.figures["unit_cents"]
    for row, point in enumerate(points):
        yield Level(
            reorder_point=point,
            job_fill=float(found.job_fill[row]),
            unit_fill=float(found.unit_fill[row]),
            ready_rate=float(found.ready_rate[row]),
            mean_on_hand=float(found.mean_on_hand[row]),
            keeping_cents=round(found.mean_on_hand[row] * holding),
            chosen=point == line.reorder_point,
        )


def demand_of(line: PlanLine, copies: int = 1) -> Demand:
    """The law of asks the plan used, once for each of several reorder points to compare."""
    sizes = {int(size): chance for size, chance in line.figures["sizes"].items()}
    chances = np.zeros(max(sizes) + 1)
    chances[list(sizes)] = list(sizes.values())
    return Demand.of(
        np.full(copies, line.asks / 7),
        TableSizes.of(chances / chances.sum(), np.zeros(copies, dtype=np.int64)),
        rate_shape=line.figures["rate_shape"],
    )


def interval_of(line: PlanLine) -> Interval:
    law = line.run.figures["laws"][str(line.supplier_id)]
    return Interval.from_days(law["days"], review_days=law["review_days"])


def picture(line: PlanLine) -> BarChart:
    """The law of demand over the wait, as bars, with the reorder point behind its bar."""
    mark = max(0, line.reorder_point)
    points = max(mark + 4, BARS // 2)
    law = interval_demand(demand_of(line), interval_of(line), points=points).pmf_from_0[0]
    width = -(-points // BARS)
    tail = max(0.0, 1 - float(law[: mark + 1].sum()))
    bars = [
        Bar(label=str(first), value=round(100 * float(law[first : first + width].sum()), 2))
        for first in range(0, points, width)
    ]
    return BarChart(
        title=f"Pieces of {line.part} asked for between an order and its delivery",
        description=f"None in {percent(float(law[0]))} of all times, more than {mark} in "
        f"{percent(tail)}.",
        x_label="pieces" if width == 1 else f"pieces, from this number on, {width} a bar",
        y_label="times, %",
        bars=bars,
        mark_after=None if line.is_bought_when_asked else mark // width,
        mark_words=f"reorder point {mark}",
    )
