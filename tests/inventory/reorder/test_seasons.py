from datetime import date

import pytest

from inventory.reorder.models import PlanRun
from inventory.reorder.seasons import seasons
from inventory.templatetags.charts import svg, table

TODAY = date(2026, 9, 2)


def make_run(**weights):
    told = {kind: {"asks": asks, "weights": law} for kind, (asks, law) in weights.items()}
    return PlanRun(as_of=TODAY, figures={"seasons": told})


def wave(*busy, times=2.0):
    """So many times as busy in the weeks named, counted from 0."""
    return [times if week in busy else 0.9 for week in range(52)]


FLAT = [1.0] * 52


class TestSeasons:
    def test_tells_the_busy_time_before_it_comes(self):
        # The Monday 2 November 2026 begins the week whose middle is day 309: week 44 from 0.
        told = seasons(make_run(kit=(300, wave(44)), body=(90, FLAT)), today=TODAY)
        assert told.busiest
        assert told.busiest.label == "Service kit"
        assert told.busiest.ahead.first == date(2026, 11, 2)
        assert told.busiest.ahead.weeks_ahead == 9
        assert told.busiest.now == 0.9

    def test_what_is_hardly_busier_is_no_season(self):
        told = seasons(make_run(kit=(300, wave(44, times=1.2))), today=TODAY)
        assert told.busiest is None

    def test_what_is_past_is_not_ahead(self):
        told = seasons(make_run(kit=(300, wave(20))), today=TODAY)
        assert [one.ahead.weight for one in told.found] == [0.9]

    def test_a_new_year_begins_with_its_first_week(self):
        told = seasons(make_run(kit=(300, wave(0))), today=date(2026, 12, 30))
        assert told.busiest
        assert told.busiest.ahead.weeks_ahead == 1

    def test_the_picture_shows_the_four_kinds_asked_for_most(self):
        kinds = {
            kind: (asks, FLAT)
            for asks, kind in enumerate(("kit", "body", "stem", "seal", "assembly"), 1)
        }
        drawn = seasons(make_run(**kinds), today=TODAY).picture
        assert drawn
        assert [line.label for line in drawn.lines] == [
            "Sensor assembly",
            "Seal",
            "Stem",
            "Sensor body",
        ]
        assert len(table(drawn)[1]) == 52
        assert str(svg(drawn)).startswith("<svg")

    @pytest.mark.parametrize("run", [None, PlanRun(as_of=TODAY)])
    def test_without_a_plan_that_told_them_there_are_none(self, run):
        told = seasons(run, today=TODAY)
        assert (told.found, told.picture, told.busiest) == ([], None, None)
