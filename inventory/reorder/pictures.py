"""The pictures beside "why this many": what the past of one part looked like.

They place what `inputs.one_part` read; the law of the future is drawn in `why`.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from inventory.reorder.inputs.one_part import PartPast
from inventory.shop.amounts import count_text, day_text
from inventory.shop.models import ShopSettings
from inventory.templatetags.charts import Bar, BarChart, Chart, Line, LineChart

BARS = 20
MONTHS_NAMED = 2


def past_pictures(past: PartPast, shop: ShopSettings) -> Iterator[Chart]:
    """Usage and stock always; sizes and lead times where there were any."""
    part = " and ".join(past.numbers)
    yield usage_picture(part, past)
    yield stock_picture(part, past, shop)
    if past.asks_by_size:
        yield sizes_picture(part, past.asks_by_size)
    if past.deliveries_by_days:
        yield waits_picture(past.deliveries_by_days)


def usage_picture(part: str, past: PartPast) -> BarChart:
    """Asks by week; behind the weeks in which the shelf was empty on some day, a shade."""
    asks = sum(week.asks for week in past.weeks)
    out = sum(week.days_out for week in past.weeks)
    return BarChart(
        title=f"Asks for {part} by week",
        description=f"{count_text(asks, 'ask')} in {len(past.weeks)} weeks; the shelf was empty "
        f"at the opening of {count_text(out, 'day')}, shaded.",
        x_label="week from",
        y_label="asks",
        bars=[
            Bar(
                label=f"{week.first:%d %b}",
                value=week.asks,
                words=f"{week.asks} for {week.pieces}" if week.pieces > week.asks else "",
                shaded=week.days_out > 0,
            )
            for week in past.weeks
        ],
        shaded_words="empty on some day",
    )


def stock_picture(part: str, past: PartPast, shop: ShopSettings) -> LineChart:
    """Stock and reorder point as steps over the same days."""
    stock = stretched(past.on_hand, past)
    points = stretched([(day, max(0, point)) for day, point in past.reorder_points], past)
    days = {day for day, _ in (*stock, *points)}
    since = day_text(past.reorder_points[0][0], shop)
    return LineChart(
        title=f"{part} on the shelf and its reorder point",
        description=f"{stock[-1][1]} at the end, reorder point {points[-1][1]}; 0 where it is "
        f"bought when asked. Before {since} no plan is kept; the first one's point is drawn.",
        x_label="day",
        y_label="pieces",
        lines=[
            Line(label="on the shelf", points=placed(stock), step=True),
            Line(label="reorder point", points=placed(points), step=True),
        ],
        x_names={float(day.toordinal()): f"{day:%b}" for day in months(past.first, past.last)},
        row_names={float(day.toordinal()): day_text(day, shop) for day in days},
    )


def stretched(steps: Iterable[tuple[date, int]], past: PartPast) -> list[tuple[date, int]]:
    """Steps drawn from the first day told to the last."""
    told = list(steps)
    if told[0][0] > past.first:
        told.insert(0, (past.first, told[0][1]))
    if told[-1][0] < past.last:
        told.append((past.last, told[-1][1]))
    return told


def placed(steps: list[tuple[date, int]]) -> list[tuple[float, float]]:
    return [(float(day.toordinal()), float(value)) for day, value in steps]


def months(first: date, last: date) -> Iterator[date]:
    """The first day of every second month."""
    for days in range((last - first).days + 1):
        day = first + timedelta(days=days)
        if day.day == 1 and day.month % MONTHS_NAMED:
            yield day


def sizes_picture(part: str, asks: Counter[int]) -> BarChart:
    usual, count = asks.most_common(1)[0]
    return BarChart(
        title=f"How many {part} are asked for at once",
        description=f"Most often {usual}: {count} of {count_text(sum(asks.values()), 'ask')}.",
        x_label="pieces",
        y_label="asks",
        bars=binned(asks, min(1, *asks)),
    )


def waits_picture(deliveries: Counter[int]) -> BarChart:
    count = sum(deliveries.values())
    mean = sum(days * number for days, number in deliveries.items()) / count
    return BarChart(
        title="Days from order to delivery",
        description=f"{mean:.1f} days on average, {max(deliveries)} at most, "
        f"in {count_text(count, 'delivery', 'deliveries')}.",
        x_label="days",
        y_label="deliveries",
        bars=binned(deliveries, min(deliveries)),
    )


def binned(counts: Counter[int], first: int) -> list[Bar]:
    """A bar for every number from the first on, or for several where there are too many.

    >>> [(bar.label, bar.value) for bar in binned(Counter({1: 5, 4: 2}), 1)]
    [('1', 5), ('2', 0), ('3', 0), ('4', 2)]
    """
    last = max(counts)
    width = -(-(last - first + 1) // BARS)
    return [
        Bar(
            label=str(start) if width == 1 else f"{start}–{start + width - 1}",
            value=sum(count for number, count in counts.items() if start <= number < start + width),
        )
        for start in range(first, last + 1, width)
    ]
