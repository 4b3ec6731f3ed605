"""Every picture of the site: small SVG drawn on the server, styled by classes alone.

A chart says what it shows in its title and its description, and carries its figures as a table.
It computes nothing about the shop; it only places what it is given.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

from inventory.shop.amounts import MINUS

register = template.Library()

WIDTH, HEIGHT = 400, 250
# Above the picture stands the name of its upright axis, clear of the highest tick.
RIGHT, TOP, BOTTOM = 14, 34, 44
AT_MOST = 4
# A letter and a line of it at the largest size the style sheet gives them, on a phone.
LETTER, LINE = 8, 15
# The piece of its line that stands before the name of a line.
SAMPLE = 16

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A curve, or with `step` a line that keeps its value until the next point."""

    label: str
    points: Sequence[Point]
    step: bool = False
    low_high: Sequence[tuple[float, float]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChart:
    title: str
    description: str
    x_label: str
    y_label: str
    lines: Sequence[Line]
    x_names: dict[float, str] = field(default_factory=dict)
    # What the table calls a row, where the axis has no room to say so much.
    row_names: dict[float, str] = field(default_factory=dict)
    marks: Sequence[tuple[float, str]] = ()
    # Single places, which need not lie on a line: (x, y, words).
    spots: Sequence[tuple[float, float, str]] = ()
    y_top: float | None = None

    def __post_init__(self) -> None:
        if not 1 <= len(self.lines) <= AT_MOST:
            raise ValueError(f"a chart shows 1 to {AT_MOST} lines; got {len(self.lines)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    label: str
    value: float
    words: str = ""
    shaded: bool = False
    href: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarChart:
    """Bars from zero. `mark_after` draws a line behind the bar of that index, with its words."""

    title: str
    description: str
    x_label: str
    y_label: str
    bars: Sequence[Bar]
    mark_after: int | None = None
    mark_words: str = ""
    shaded_words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """From one total to another in steps; each bar begins where the one before ended."""

    title: str
    description: str
    y_label: str
    start: Bar
    steps: Sequence[Bar]
    end: Bar


Chart = LineChart | BarChart | Bridge


def ticks(low: float, high: float, count: int = 4) -> list[float]:
    """Round numbers that span low to high, about `count` of them.

    >>> ticks(0, 37)
    [0.0, 10.0, 20.0, 30.0, 40.0]
    >>> ticks(0, 0)
    [0.0, 1.0]
    """
    if high <= low:
        return [low, low + 1.0]
    rough = (high - low) / count
    power = 10.0 ** math.floor(math.log10(rough))
    step = power * min((n for n in (1, 2, 5, 10) if n * power >= rough), default=10)
    first, last = math.floor(low / step), math.ceil(high / step)
    return [round(n * step, 10) for n in range(first, last + 1)]


def said(value: float) -> str:
    """A number as an axis says it.

    >>> said(1200.0), said(0.25), said(3.0)
    ('1,200', '0.25', '3')
    """
    return f"{value:,.0f}" if float(value).is_integer() else f"{value:,.3g}"


def decimals(values: Sequence[float]) -> int:
    """So many figures behind the point that a column of these tells them apart, all alike.

    >>> decimals([100, 90.909]), decimals([2.5, 1.25]), decimals([3, 4])
    (1, 2, 0)
    """
    if all(round(value, 3) == round(value) for value in values):
        return 0
    return max(1, 3 - len(f"{max(map(abs, values)):.0f}"))


class Frame:
    """The scales of one picture: data in, picture coordinates out."""

    def __init__(
        self,
        xs: Sequence[float],
        ys: Sequence[float],
        y_top: float | None = None,
        *,
        right: float = WIDTH - RIGHT,
    ) -> None:
        self.x_low, self.x_high = min(xs), max(xs)
        if self.x_high == self.x_low:
            self.x_high = self.x_low + 1
        self.y_ticks = ticks(min(0.0, *ys), max(*ys, 0.0) if y_top is None else y_top)
        self.left = 10 + LETTER * max(len(said(tick)) for tick in self.y_ticks)
        self.right = right

    def x(self, value: float) -> float:
        share = (value - self.x_low) / (self.x_high - self.x_low)
        return round(self.left + share * (self.right - self.left), 1)

    def y(self, value: float) -> float:
        low, high = self.y_ticks[0], self.y_ticks[-1]
        return round(HEIGHT - BOTTOM - (value - low) / (high - low) * (HEIGHT - TOP - BOTTOM), 1)

    def below(self, x: float, words: str, row: int = 0) -> str:
        """What stands under the axis; the first word does not leave the picture."""
        middle = max(x, LETTER * len(words) / 2)
        return text(round(middle, 1), HEIGHT - BOTTOM + 18 + row * (LINE - 1), words)

    def rules(self) -> list[str]:
        parts = []
        for tick in self.y_ticks:
            y = self.y(tick)
            parts.append(f'<path class="rule" d="M{self.left} {y}H{self.right}"/>')
            parts.append(text(self.left - 6, y + 4, said(tick), "end"))
        return parts

    def mark(self, x: float, words: str) -> list[str]:
        side = "end" if x > (self.left + self.right) / 2 else "start"
        gap = -4 if side == "end" else 4
        return [
            f'<path class="mark" d="M{x} {TOP}V{HEIGHT - BOTTOM}"/>',
            text(x + gap, TOP + 10, words, side, "strong"),
        ]

    def spot(self, x: float, y: float, words: str) -> list[str]:
        across, down = self.x(x), self.y(y)
        side = "end" if across > (self.left + self.right) / 2 else "start"
        beside = across + (-8 if side == "end" else 8)
        return [
            f'<circle class="spot" cx="{across}" cy="{down}" r="5"/>',
            text(beside, down + 14, words, side, "strong"),
        ]

    def labels(self, x_label: str, y_label: str) -> list[str]:
        return [
            text(round((self.left + self.right) / 2, 1), HEIGHT - 6, x_label, "middle", "label"),
            text(2, 13, y_label, "start", "label"),
        ]


def text(x: float, y: float, words: str, anchor: str = "middle", kind: str = "tick") -> str:
    return f'<text class="{kind} {anchor}" x="{x}" y="{y}">{conditional_escape(words)}</text>'


def path(frame: Frame, line: Line) -> str:
    places = [(frame.x(x), frame.y(y)) for x, y in line.points]
    drawn = f"M{places[0][0]} {places[0][1]}"
    for x, y in places[1:]:
        drawn += f"H{x}V{y}" if line.step else f"L{x} {y}"
    return drawn


def band(frame: Frame, line: Line) -> str:
    pairs = list(zip((x for x, _ in line.points), line.low_high, strict=True))
    there = [f"{frame.x(x)} {frame.y(high)}" for x, (_, high) in pairs]
    back = [f"{frame.x(x)} {frame.y(low)}" for x, (low, _) in reversed(pairs)]
    return f'<path class="band" d="M{"L".join(there + back)}Z"/>'


def line_chart(chart: LineChart) -> list[str]:
    xs = [x for line in chart.lines for x, _ in line.points]
    ys = [y for line in chart.lines for _, y in line.points]
    ys += [edge for line in chart.lines for pair in line.low_high for edge in pair]
    ys += [y for _, y, _ in chart.spots]
    xs += [x for x, _ in chart.marks] + [x for x, _, _ in chart.spots]
    widest = max(len(line.label) for line in chart.lines)
    frame = Frame(xs, ys, chart.y_top, right=WIDTH - SAMPLE - 8 - LETTER * widest)
    parts = frame.rules()
    names = chart.x_names or {x: said(x) for x in ticks(frame.x_low, frame.x_high)}
    for x, name in names.items():
        if frame.x_low <= x <= frame.x_high:
            parts.append(frame.below(frame.x(x), name))
    for number, line in enumerate(chart.lines, 1):
        if line.low_high:
            parts.append(band(frame, line))
        parts.append(f'<path class="line line-{number}" d="{path(frame, line)}"/>')
    parts += direct_labels(frame, chart.lines)
    for x, words in chart.marks:
        parts += frame.mark(frame.x(x), words)
    for x, y, words in chart.spots:
        parts += frame.spot(x, y, words)
    return parts + frame.labels(chart.x_label, chart.y_label)


def direct_labels(frame: Frame, lines: Sequence[Line]) -> list[str]:
    """Beside the right end of each line a piece of it and its name, apart where two would touch."""
    wanted = sorted((frame.y(line.points[-1][1]), n) for n, line in enumerate(lines, 1))
    parts, lowest, start = [], float(TOP), frame.right + 4
    for place, (y, number) in enumerate(wanted):
        still_to_come = LINE * (len(wanted) - 1 - place)
        lowest = min(max(y, lowest), HEIGHT - BOTTOM - still_to_come)
        parts.append(f'<path class="line line-{number}" d="M{start} {lowest:.1f}h{SAMPLE - 2}"/>')
        label = lines[number - 1].label
        parts.append(text(start + SAMPLE, round(lowest + 4, 1), label, "start", "name"))
        lowest += LINE
    return parts


def bar_chart(chart: BarChart) -> list[str]:
    frame = Frame([0, len(chart.bars)], [bar.value for bar in chart.bars])
    parts = frame.rules()
    wide = (frame.right - frame.left) / len(chart.bars)
    every = math.ceil((LETTER * max(len(bar.label) for bar in chart.bars) + 6) / wide)
    for index, bar in enumerate(chart.bars):
        x = frame.left + index * wide
        if bar.shaded:
            down = HEIGHT - TOP - BOTTOM
            box = f'x="{x:.1f}" y="{TOP}" width="{wide:.1f}" height="{down}"'
            parts.append(f'<rect class="shade" {box}/>')
        parts.append(block(frame, bar, x, wide, 0.0, bar.value, "bar"))
        if index % every == 0:
            parts.append(frame.below(x + wide / 2, bar.label))
    if chart.mark_after is not None:
        parts += frame.mark(round(frame.left + (chart.mark_after + 1) * wide, 1), chart.mark_words)
    return parts + frame.labels(chart.x_label, chart.y_label)


def block(
    frame: Frame, bar: Bar, x: float, wide: float, start: float, end: float, kind: str
) -> str:
    top, foot = frame.y(max(start, end)), frame.y(min(start, end))
    gap = min(3.0, wide * 0.15)
    drawn = (
        f'<rect class="{kind}" x="{x + gap / 2:.1f}" y="{top}" '
        f'width="{wide - gap:.1f}" height="{max(0.5, foot - top):.1f}"/>'
    )
    if not bar.href:
        return drawn
    name = conditional_escape(f"{bar.label}: {bar.words or said(bar.value)}")
    return f'<a href="{conditional_escape(bar.href)}" aria-label="{name}">{drawn}</a>'


def bridge(chart: Bridge) -> list[str]:
    levels = [chart.start.value]
    for step in chart.steps:
        levels.append(levels[-1] + step.value)
    frame = Frame([0, 1], [*levels, chart.end.value])
    parts = frame.rules()
    wide = (frame.right - frame.left) / (len(chart.steps) + 2)
    spans = [(0.0, chart.start.value), *pairwise(levels), (0.0, chart.end.value)]
    for index, (bar, (start, end)) in enumerate(
        zip([chart.start, *chart.steps, chart.end], spans, strict=True)
    ):
        x = frame.left + index * wide
        kind = "bar" if start == 0.0 else ("gain" if end >= start else "loss")
        parts.append(block(frame, bar, x, wide, start, end, kind))
        middle = round(x + wide / 2, 1)
        parts.append(frame.below(middle, bar.label, index % 2))
        # Whole units fit above a narrow bar; the table has the exact words.
        if round(bar.value):
            words = f"{bar.value:,.0f}".replace("-", MINUS)
            parts.append(text(middle, frame.y(max(start, end)) - 3, words))
    return parts + frame.labels("", chart.y_label)


def table(chart: Chart) -> tuple[list[str], list[list[str]]]:
    """Heads and rows of the figures a chart shows."""
    if isinstance(chart, BarChart):
        heads = [chart.x_label, chart.y_label]
        rows = [[bar.label, bar.words or said(bar.value)] for bar in chart.bars]
        if chart.shaded_words:
            heads.append(chart.shaded_words)
            rows = [
                [*row, "yes" if bar.shaded else ""]
                for row, bar in zip(rows, chart.bars, strict=True)
            ]
        return heads, rows
    if isinstance(chart, Bridge):
        bars = [chart.start, *chart.steps, chart.end]
        return ["Step", chart.y_label], [[bar.label, bar.words or said(bar.value)] for bar in bars]
    return line_table(chart)


def line_table(chart: LineChart) -> tuple[list[str], list[list[str]]]:
    heads = [chart.x_label]
    columns: list[dict[float, str]] = []
    for line in chart.lines:
        heads.append(line.label)
        places = decimals([y for _, y in line.points])
        columns.append({x: f"{y:,.{places}f}" for x, y in line.points})
        if line.low_high:
            heads.append(f"{line.label}, low to high")
            columns.append(
                {
                    x: f"{low:,.{places}f} to {high:,.{places}f}"
                    for (x, _), (low, high) in zip(line.points, line.low_high, strict=True)
                }
            )
    xs = sorted({x for column in columns for x in column})
    names = chart.x_names | chart.row_names
    rows = [
        [names.get(x, said(round(x, 3))), *(column.get(x, "") for column in columns)] for x in xs
    ]
    return heads, rows


def svg(chart: Chart) -> SafeString:
    if isinstance(chart, LineChart):
        parts = line_chart(chart)
    elif isinstance(chart, BarChart):
        parts = bar_chart(chart)
    else:
        parts = bridge(chart)
    linked = isinstance(chart, Bridge) or any(bar.href for bar in getattr(chart, "bars", ()))
    role = "group" if linked else "img"
    # Every word in it went through conditional_escape.
    return mark_safe(
        f'<svg class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="{role}">'
        f"<title>{conditional_escape(chart.title)}</title>"
        f"<desc>{conditional_escape(chart.description)}</desc>{''.join(parts)}</svg>"
    )


@register.inclusion_tag("inventory/_chart.html")
def chart(drawn: Chart) -> dict[str, object]:
    heads, rows = table(drawn)
    # Several columns share one unit: that of the upright axis.
    unit = drawn.y_label if isinstance(drawn, LineChart) else ""
    return {"title": drawn.title, "svg": svg(drawn), "heads": heads, "rows": rows, "unit": unit}
