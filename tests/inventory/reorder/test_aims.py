from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from inventory.ledger.actions import log_ask, receive_stock
from inventory.reorder.actions.goals import set_goal
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import GoalKind, PlanLine
from inventory.reorder.why import aim_sentence, why
from inventory.shop.models import ShelfGoal, ShopSettings
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db

AS_OF = date(2026, 3, 4)
NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


@pytest.fixture
def site():
    return make_site(name="Quay Street", asks_logged_from=date(2020, 1, 1))


def make_sold(site, supplier, number, *, every, price=6_000, cost=2_000):
    """A part asked for every so many days, one piece at a time."""
    part = make_part(number=number, list_price_cents=price)
    make_offer(supplier, part, pack_price_cents=cost)
    for days in range(1, 700, every):
        at = NOON - timedelta(days=days)
        log_ask(part, site=site, pieces=1, by=None, key=f"{number}-{days}", at=at)
    return part


@pytest.fixture
def parts(site):
    supplier = make_supplier()
    return [
        make_sold(site, supplier, "BEST", every=3),
        make_sold(site, supplier, "NEXT", every=28),
        make_sold(site, supplier, "RARE", every=120),
    ]


def planned(shelf=ShelfGoal.ONE, **settings):
    ShopSettings.objects.update_or_create(pk=1, defaults={"shelf_goal": shelf} | settings)
    run = run_plan(as_of=AS_OF, by=None)
    lines = PlanLine.objects.filter(run=run).select_related("part", "site", "run", "supplier")
    return {line.part.number: line for line in lines}


def own_goal(part, *sites, **facts):
    usual: dict[str, Any] = {
        "kind": GoalKind.AT_LEAST,
        "amount": 6,
        "words": "the fleet does not wait",
    }
    set_goal(part, sites=sites, by=None, **usual | facts)


class TestAimsOf:
    def test_by_default_there_is_one_target(self, parts):
        lines = planned()
        assert {line.target for line in lines.values()} == {0.95}
        assert not any({"class", "goal", "miss_cents"} & set(x.figures) for x in lines.values())

    def test_by_class_what_brings_most_is_served_best(self, parts):
        lines = planned(ShelfGoal.BY_CLASS, target_a_percent=99, target_b_percent=95)
        names = {number: line.figures["class"]["name"] for number, line in lines.items()}
        assert names == {"BEST": "A", "NEXT": "B", "RARE": "C"}
        assert [lines[n].target for n in ("BEST", "NEXT", "RARE")] == [0.99, 0.95, 0.90]
        assert lines["BEST"].job_fill >= 0.99
        assert sum(x.figures["class"]["share"] for x in lines.values()) == pytest.approx(1)
        # Single pieces that earn 40.00 each.
        best = lines["BEST"]
        assert best.figures["class"]["margin_cents"] == pytest.approx(
            best.asks / 7 * 365 * 4_000, abs=1
        )
        assert "class A, the parts that bring the first 80%" in aim_sentence(
            lines["BEST"], ShopSettings.load()
        )

    def test_the_cheapest_has_no_target_and_says_what_a_miss_costs(self, parts):
        lines = planned(ShelfGoal.CHEAPEST, labour_price_cents=12_000, rush_percent=20)
        assert {line.target for line in lines.values()} == {None}
        # A quarter of 40.00 lost, a fifth of 20.00 for half of them, six minutes at 120.00.
        assert lines["BEST"].figures["miss_cents"] == 1_000 + 200 + 1_200
        told = why(lines["BEST"], ShopSettings.load())
        assert len(told.sentences) == 3
        assert (
            "costs $24.00 in margin, rush and time, holding a piece for a year $5.00." in told.aim
        )

    def test_its_own_goal_is_told_in_the_note_and_the_why(self, parts, site):
        own_goal(parts[2], site)
        line = planned()["RARE"]
        assert line.reorder_point == 5
        assert line.words == "Its own goal: at least 6 kept."
        assert why(line, ShopSettings.load()).aim.startswith(
            "Its own goal, at least 6 kept, was set on "
        )
        assert list(PlanLine.objects.for_parts_list(line.run, site, "goal")) == [line]

    def test_its_own_goal_counts_at_its_own_site_alone(self, parts, site):
        other = make_site(name="Ridge")
        receive_stock(parts[0], site=other, pieces=1, value_cents=2_000, by=None, key="r-1")
        own_goal(parts[0], other, kind=GoalKind.WHEN_ASKED, amount=None)
        planned()
        at = {line.site_id: line for line in PlanLine.objects.filter(part=parts[0])}
        assert at[site.pk].reorder_point >= 0
        assert (at[other.pk].reorder_point, at[other.pk].target) == (-1, None)
        assert at[other.pk].words == "Its own goal: bought when asked."

    def test_a_part_never_seen_here_is_planned_for_its_goal(self, site):
        part = make_part(number="NEW")
        make_offer(make_supplier(), part)
        own_goal(part, site, amount=2)
        line = planned()["NEW"]
        assert (line.on_hand, line.reorder_point) == (0, 1)
        assert line.suggested_pieces >= 2

    def test_that_nobody_offers_it_is_said_before_its_goal(self, site):
        own_goal(make_part(number="GONE"), site)
        assert planned()["GONE"].words == "No supplier offers it today; add an offer."
