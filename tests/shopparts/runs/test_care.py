from datetime import UTC, datetime, timedelta

import pytest

from inventory.reorder.actions.plan import run_plan
from shopparts.backup import make_backup
from shopparts.runs.care import ask_for_backup, ask_for_plan
from shopparts.runs.models import Run, RunKind
from tests.make import make_site

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 11, 24, 12, tzinfo=UTC)


def asked():
    return sorted(Run.objects.values_list("kind", flat=True))


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path


class TestAskForBackup:
    def test_a_shop_without_one_gets_one_however_many_workers_ask(self):
        ask_for_backup(NOON)
        ask_for_backup(NOON)
        assert asked() == [RunKind.BACKUP]

    def test_where_it_fails_it_is_tried_again_the_next_hour(self):
        ask_for_backup(NOON)
        ask_for_backup(NOON + timedelta(hours=1))
        assert len(asked()) == 2

    def test_one_a_day_is_enough(self):
        made_at = make_backup().made_at
        ask_for_backup(made_at + timedelta(hours=23))
        assert asked() == []
        ask_for_backup(made_at + timedelta(hours=24))
        assert asked() == [RunKind.BACKUP]


class TestAskForPlan:
    def test_a_shop_without_a_site_needs_none(self):
        ask_for_plan(NOON)
        assert asked() == []

    def test_from_four_by_the_clock_of_the_site(self):
        make_site(zone="America/Chicago")
        ask_for_plan(NOON.replace(hour=9, minute=59))
        assert asked() == []
        ask_for_plan(NOON.replace(hour=10))
        ask_for_plan(NOON)
        assert asked() == [RunKind.PLAN]

    def test_a_day_that_was_planned_is_left_alone(self):
        make_site()
        run_plan(as_of=NOON.date(), by=None)
        ask_for_plan(NOON)
        assert asked() == []
