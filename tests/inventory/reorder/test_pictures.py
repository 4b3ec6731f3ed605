from collections import Counter
from datetime import date, timedelta

import pytest

from inventory.reorder.inputs.one_part import PartPast, PartWeek
from inventory.reorder.pictures import (
    binned,
    past_pictures,
    sizes_picture,
    stock_picture,
    usage_picture,
    waits_picture,
)
from inventory.shop.models import ShopSettings
from inventory.templatetags.charts import svg, table

FIRST = date(2025, 3, 6)


@pytest.fixture
def past():
    weeks = [
        PartWeek(first=FIRST + timedelta(weeks=n), asks=n % 3, pieces=2 * (n % 3), days_out=n % 2)
        for n in range(52)
    ]
    return PartPast(
        numbers=("QX-1", "QX-0"),
        weeks=tuple(weeks),
        asks_by_size=Counter({1: 3, 4: 9}),
        on_hand=((FIRST, 2), (date(2025, 9, 1), 6)),
        reorder_points=((date(2025, 12, 1), 2), (date(2026, 1, 1), 3)),
        deliveries_by_days=Counter({2: 3, 4: 1}),
    )


class TestUsagePicture:
    def test_shades_the_weeks_with_an_empty_shelf(self, past):
        drawn = usage_picture("QX-1", past)
        assert [bar.shaded for bar in drawn.bars[:4]] == [False, True, False, True]
        assert drawn.description == (
            "51 asks in 52 weeks; the shelf was empty at the opening of 26 days, shaded."
        )

    def test_tells_pieces_where_they_differ_from_asks(self, past):
        assert [bar.words for bar in usage_picture("QX-1", past).bars[:3]] == [
            "",
            "1 for 2",
            "2 for 4",
        ]


class TestStockPicture:
    def test_both_lines_are_steps_over_the_same_days(self, past):
        drawn = stock_picture("QX-1", past, ShopSettings())
        ends = {(line.points[0][0], line.points[-1][0]) for line in drawn.lines}
        assert ends == {(FIRST.toordinal(), past.last.toordinal())}
        assert all(line.step for line in drawn.lines)

    def test_the_table_names_days(self, past):
        _, rows = table(stock_picture("QX-1", past, ShopSettings()))
        assert rows[0] == ["2025-03-06", "2", "2"]
        assert rows[1] == ["2025-09-01", "6", ""]

    def test_bought_when_asked_is_drawn_at_nothing(self, past):
        asked = PartPast(
            numbers=("QX-1",),
            weeks=past.weeks,
            asks_by_size=Counter(),
            on_hand=past.on_hand,
            reorder_points=((past.last, -1),),
            deliveries_by_days=Counter(),
        )
        drawn = stock_picture("QX-1", asked, ShopSettings())
        assert {y for _, y in drawn.lines[1].points} == {0}


class TestSizesPicture:
    def test_says_the_usual_size(self):
        drawn = sizes_picture("QX-1", Counter({1: 3, 4: 9}))
        assert drawn.description == "Most often 4: 9 of 12 asks."
        assert [bar.value for bar in drawn.bars] == [3, 0, 0, 9]


class TestWaitsPicture:
    def test_says_the_mean_and_the_longest(self):
        drawn = waits_picture(Counter({2: 3, 4: 1}))
        assert drawn.description == "2.5 days on average, 4 at most, in 4 deliveries."


class TestPastPictures:
    def test_every_picture_can_be_drawn(self, past):
        drawn = list(past_pictures(past, ShopSettings()))
        assert len(drawn) == 4
        assert drawn[0].title == "Asks for QX-1 and QX-0 by week"
        assert all(str(svg(picture)).startswith("<svg") for picture in drawn)


class TestBinned:
    def test_very_many_pieces_share_bars(self):
        bars = binned(Counter({1: 1, 40_000: 52}), 1)
        assert len(bars) <= 20
        assert (bars[0].label, bars[-1].value) == ("1–2000", 52)
