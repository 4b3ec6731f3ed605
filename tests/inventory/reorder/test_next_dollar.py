from datetime import date

import numpy as np
import pytest

from inventory.reorder.models import PlanRun, PlanStatus
from inventory.reorder.next_dollar import next_dollar
from inventory.reorder.shelf_levels import LEVELS, levels_of, read_levels
from inventory.reorder.why import levels as levels_by_why
from inventory.shop.models import ShopSettings
from inventory.templatetags.charts import svg
from tests.inventory.reorder.pages import behind
from tests.make import make_part, make_plan_line, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return make_site()


@pytest.fixture
def run():
    laws = {"None": {"days": {"2": 0.5, "5": 0.5}, "review_days": 1.4}}
    return PlanRun.objects.create(
        as_of=date(2026, 3, 4),
        status=PlanStatus.DONE,
        figures={"holding_rate": 0.25, "laws": laws},
    )


@pytest.fixture
def lines(site, run):
    """A cheap part asked for often, and a dear one asked for rarely."""
    cheap = make_plan_line(
        site,
        None,
        run=run,
        part=make_part(number="CHEAP"),
        asks=3.0,
        reorder_point=2,
        figures=behind(),
    )
    dear = make_plan_line(
        site,
        None,
        run=run,
        part=make_part(number="DEAR"),
        asks=0.1,
        reorder_point=2,
        figures=behind() | {"unit_cents": 9_000.0},
    )
    return cheap, dear


def found(run, site, budget_cents=None):
    return next_dollar(run, site, ShopSettings.load(), budget_cents=budget_cents)


class TestLevelsOf:
    def test_every_level_up_to_a_few_above_the_chosen_one(self):
        point, now = levels_of(np.array([-1, 5]))
        assert (point[1] == np.arange(-1, LEVELS - 1)).all()
        assert now.tolist() == [0, 6]

    def test_reaches_above_any_chosen_point(self):
        chosen = np.arange(-1, 500)
        point, now = levels_of(chosen)
        assert (point[:, -1] > chosen).all()
        assert (point[np.arange(len(now)), now] <= chosen).all()


class TestReadLevels:
    def test_what_is_bought_when_asked_holds_and_fills_nothing(self, run, site, lines):
        levels = read_levels(run, site)
        assert levels.filled[:, 0].tolist() == levels.cents[:, 0].tolist() == [0, 0]

    def test_agrees_with_what_the_plan_says_of_one_part(self, run, site, lines):
        levels = read_levels(run, site)
        for row, line in enumerate(lines):
            for level in levels_by_why(line):
                fill = levels.filled[row, level.reorder_point + 1] / levels.asks[row]
                assert fill == pytest.approx(level.job_fill, abs=1e-6)

    def test_steps_of_many_pieces_agree_with_single_ones(self, run, site, lines):
        many = make_plan_line(
            site, None, run=run, part=make_part(), asks=3.0, reorder_point=40, figures=behind()
        )
        levels = read_levels(run, site)
        row = levels.line.tolist().index(many.pk)
        shared = np.isin(levels.point[0], levels.point[row])
        same = np.isin(levels.point[row], levels.point[0])
        assert same.sum() > 3
        assert levels.filled[row, same] == pytest.approx(levels.filled[0, shared], abs=1e-6)

    def test_asks_sent_on_from_other_parts_are_asks_of_theirs(self, run, site, lines):
        levels = read_levels(run, site)
        cheap = lines[0]
        cheap.figures["sent_on"] = 1.0
        cheap.save()
        found = read_levels(run, site)
        row = found.line.tolist().index(cheap.pk)
        assert found.asks[row] == pytest.approx(levels.asks[row] * 2 / 3)
        assert found.filled[row].tolist() == levels.filled[row].tolist()

    def test_an_ask_that_another_part_stands_in_for_is_filled_once(self, run, site, lines):
        specific, universal = lines
        levels = read_levels(run, site)
        row = levels.line.tolist().index(specific.pk)
        missed = 3.0 - levels.filled[row, 3] * 7 / 365
        specific.figures["sends_on"] = missed / 2
        universal.figures["sent_on"] = missed / 2
        universal.asks += missed / 2
        specific.save()
        universal.save()
        found = read_levels(run, site)
        assert found.filled[row, :4].tolist() == levels.filled[row, :4].tolist()
        more = levels.filled[row, 4:] - levels.filled[row, 3]
        assert found.filled[row, 4:] - found.filled[row, 3] == pytest.approx(more / 2, rel=1e-3)

    def test_a_goal_of_its_own_is_kept_to(self, run, site, lines):
        kept, asked = lines
        free = read_levels(run, site)
        kept.figures["goal"] = asked.figures["goal"] = {"what": "its own"}
        asked.reorder_point = -1
        kept.save()
        asked.save()
        levels = read_levels(run, site)
        assert levels.cents[0].tolist() == [free.cents[0, 3]] * 4 + free.cents[0, 4:].tolist()
        assert levels.filled[0, 0] == free.filled[0, 3]
        assert not levels.cents[1].any()
        assert not levels.filled[1].any()

    def test_lines_whose_figures_were_not_kept_are_left_out(self, run, site):
        make_plan_line(site, None, run=run, asks=3.0)
        assert len(read_levels(run, site).line) == 0


class TestNextDollar:
    def test_goes_to_the_cheap_part_asked_for_often(self, run, site, lines):
        steps = found(run, site).steps
        assert [step.line.part.number for step in steps] == ["CHEAP", "DEAR"]
        assert (steps[0].before, steps[0].after) == (2, 3)
        assert steps[0].asks > 0 < steps[0].cents

    def test_a_budget_as_large_as_the_plan_fills_no_less(self, run, site, lines):
        now = found(run, site).now
        then = found(run, site, now.cents + 1).then
        assert then.share >= now.share
        assert then.cents <= now.cents + 1

    def test_more_money_fills_more(self, run, site, lines):
        shares = [found(run, site, cents).then.share for cents in (0, 2_000, 10_000, 60_000)]
        assert shares == sorted(shares)
        assert shares[0] == 0 < shares[1]

    def test_changes_add_up_to_the_budget(self, run, site, lines):
        money = found(run, site, 3_000)
        moved = sum(step.cents for step in money.changes)
        assert money.then.cents - money.now.cents == pytest.approx(moved, abs=2)

    def test_no_money_at_all_is_bought_when_asked(self, run, site, lines):
        assert {step.after for step in found(run, site, 0).changes} == {-1}

    def test_no_budget_fills_more_than_all_asks(self, run, site, lines):
        specific, universal = lines
        specific.reorder_point, specific.figures["sends_on"] = -1, 1.5
        universal.asks, universal.figures["sent_on"] = 1.6, 1.5
        specific.save()
        universal.save()
        assert 0.9 < found(run, site, 10**9).then.share <= 1

    def test_no_budget_takes_a_part_below_its_own_goal(self, run, site, lines):
        dear = lines[1]
        dear.figures["goal"] = {"what": "at least 3 kept"}
        dear.save()
        money = found(run, site, 100)
        assert money.is_below_goals
        assert [step.line.part.number for step in money.changes] == ["CHEAP"]
        assert money.then.cents == money.goals_cents > 9_000
        assert not found(run, site, 10**6).is_below_goals

    def test_the_picture_marks_the_plan_or_the_budget(self, run, site, lines):
        (plan,) = found(run, site).picture.spots
        (budget,) = found(run, site, 3_000).picture.spots
        assert plan[2] == f"the plan: {plan[1]:.1f}%"
        assert budget[2] == f"this budget: {budget[1]:.1f}%"
        assert str(svg(found(run, site, 3_000).picture)).startswith("<svg")

    def test_where_nobody_asks_there_is_nothing_to_place(self, run, site):
        assert found(run, site) is None
