from xml.etree import ElementTree

import pytest
from django.template import Context, Template

from inventory.templatetags.charts import (
    Bar,
    BarChart,
    Bridge,
    Chart,
    Line,
    LineChart,
    svg,
    table,
    ticks,
)

CHARTS: dict[str, Chart] = {
    "line": LineChart(
        title="Half of these bodies last 8 years",
        description="Share still answering by age.",
        x_label="Age, years",
        y_label="Share answering",
        lines=[
            Line(label="ours", points=[(0, 1), (8, 0.5)], low_high=[(1, 1), (0.4, 0.6)]),
            Line(label="assumed", points=[(0, 1), (8, 0.6)]),
        ],
        marks=[(5, "this wheel")],
        spots=[(3, 0.4, "seen once")],
        y_top=1,
    ),
    "bars": BarChart(
        title="Three weeks of usage",
        description="Six pieces in three weeks.",
        x_label="Week",
        y_label="Pieces",
        bars=[
            Bar(label="1", value=4),
            Bar(label="2", value=0, shaded=True),
            Bar(label="3", value=2, href="/jobs/?week=3"),
        ],
        mark_after=1,
        mark_words="reorder at 2",
        shaded_words="Out of stock",
    ),
    "bridge": Bridge(
        title="Margin fell by 30",
        description="Price gave 20, cost took 50.",
        y_label="Margin",
        start=Bar(label="Before", value=100),
        steps=[Bar(label="Price", value=20), Bar(label="Cost", value=-50)],
        end=Bar(label="After", value=70),
    ),
}


@pytest.mark.parametrize("chart", CHARTS.values(), ids=CHARTS.keys())
class TestSvg:
    def test_is_well_formed_and_says_what_it_shows(self, chart: Chart):
        root = ElementTree.fromstring(svg(chart))
        assert root[0].tag == "title"
        assert root[0].text == chart.title
        assert root[1].text == chart.description

    def test_carries_no_inline_style(self, chart: Chart):
        assert "style=" not in svg(chart)

    def test_stays_inside_its_frame(self, chart: Chart):
        for rect in ElementTree.fromstring(svg(chart)).iter("rect"):
            assert float(rect.attrib["height"]) >= 0
            assert 0 <= float(rect.attrib["x"]) <= 400

    def test_is_shown_with_its_figures(self, chart: Chart):
        page = Template("{% load charts %}{% chart drawn %}").render(Context({"drawn": chart}))
        assert "Show figures" in page
        assert all(len(row) == len(table(chart)[0]) for row in table(chart)[1])


class TestEscaping:
    def test_words_from_the_shop_cannot_become_markup(self):
        drawn = svg(
            BarChart(
                title="<script>",
                description="&",
                x_label="<x>",
                y_label="y",
                bars=[Bar(label="<b>", value=1, href='/"onload="')],
            )
        )
        assert "<script>" not in drawn
        assert "<b>" not in drawn
        assert '"onload="' not in drawn


class TestBridge:
    def test_says_each_step_with_a_true_minus_and_keeps_the_axis_name_clear(self):
        drawn = ElementTree.fromstring(svg(CHARTS["bridge"]))
        words = {node.text: node for node in drawn.iter("text")}
        assert "−50" in words
        name, tick = words["Margin"], words["150"]
        # Letters of eleven pixels: two lines this far apart do not touch.
        assert float(tick.attrib["y"]) - float(name.attrib["y"]) > 11

    def test_each_step_begins_where_the_one_before_ended(self):
        root = ElementTree.fromstring(svg(CHARTS["bridge"]))
        gain = next(r for r in root.iter("rect") if r.attrib["class"] == "gain")
        loss = next(r for r in root.iter("rect") if r.attrib["class"] == "loss")
        assert gain.attrib["y"] == loss.attrib["y"]


class TestTicks:
    def test_span_the_data(self):
        for high in (0.3, 1, 7, 99, 12345):
            assert ticks(0, high)[-1] >= high
            assert 3 <= len(ticks(0, high)) <= 7


class TestLineChart:
    def test_refuses_more_lines_than_can_be_told_apart(self):
        line = Line(label="a", points=[(0, 0)])
        with pytest.raises(ValueError, match="a chart shows 1 to 4 lines; got 5"):
            LineChart(title="", description="", x_label="", y_label="", lines=[line] * 5)
