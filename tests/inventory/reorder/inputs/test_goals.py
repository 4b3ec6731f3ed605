from datetime import UTC, datetime

import numpy as np
import pytest

from inventory.catalog.models import Counted
from inventory.reorder.inputs.facts import Rows
from inventory.reorder.inputs.goals import goals_of, part_sites, read_goals
from inventory.reorder.models import GoalKind, PartGoal
from inventory.shop.models import ShelfGoal, ShopSettings, Site
from inventory.shop.roles import Role
from tests.make import make_part, make_site, make_user

pytestmark = pytest.mark.django_db

LATE = datetime(2026, 3, 3, 4, tzinfo=UTC)


@pytest.fixture
def site():
    return make_site(zone="America/Chicago")


def make_goal(part, site, **facts):
    usual = {"kind": GoalKind.AT_LEAST, "amount": 4, "words": "fleet", "set_at": LATE}
    return PartGoal.objects.create(part=part, site=site, **usual | facts)


class TestGoalsOf:
    def test_each_kind_stands_in_its_own_row(self, site):
        parts = [make_part() for _ in range(4)]
        make_goal(parts[0], site, kind=GoalKind.PERCENT, amount=99)
        make_goal(parts[1], site)
        make_goal(parts[2], site, kind=GoalKind.WHEN_ASKED, amount=None)
        rows = Rows(part=np.array([p.pk for p in parts]), site=np.full(4, site.pk))
        found = goals_of(rows, read_goals([site]), ShopSettings(target_c_percent=80))
        assert found.own_target.tolist()[0] == 0.99
        assert np.isnan(found.own_target[1:]).all()
        assert found.at_least.tolist() == [0, 4, 0, 0]
        assert found.when_asked.tolist() == [False, False, True, False]
        assert list(found.told) == [0, 1, 2]
        assert (found.shelf, found.target) == (ShelfGoal.ONE, 0.95)
        assert found.class_targets == (0.97, 0.95, 0.80)

    def test_tells_what_why_and_who_on_the_sites_own_day(self, site):
        by = make_user(Role.PARTS_MANAGER, first_name="Ines", last_name="Karr")
        part = make_part()
        make_goal(part, site, by=by)
        rows = Rows(part=np.array([part.pk]), site=np.array([site.pk]))
        # Four in the morning, universal time, is the evening before in Chicago.
        assert goals_of(rows, read_goals([site]), ShopSettings()).told[0] == {
            "kind": "at_least",
            "what": "at least 4 kept",
            "words": "fleet",
            "by": "Ines Karr",
            "on": "2026-03-02",
        }


class TestReadGoals:
    def test_leaves_out_goods_on_the_road_and_what_is_not_counted(self, site):
        road = make_site(kind="transit")
        make_goal(make_part(), road)
        make_goal(make_part(kind="cap", counted=Counted.NOT), site)
        kept = make_goal(make_part(), site)
        assert read_goals(list(Site.objects.selling())) == [kept]
        assert part_sites([kept]).tolist() == [[kept.part_id, site.pk]]
