from dataclasses import replace
from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from fixtures.demo import days
from inventory.catalog.models import Part
from inventory.sheet import Saved
from shopparts.management.commands.demo_shop import LAST_DAY, moved, weeks_since
from shopparts.workbook.registry import sheets
from tests.make import make_site


@pytest.mark.django_db
class TestDemoShopRefuses:
    def test_another_shops_data_folder(self, settings):
        make_site(code="MAIN")
        with pytest.raises(CommandError) as refusal:
            call_command("demo_shop", stdout=StringIO())
        assert str(refusal.value) == (
            f"The data folder {settings.DATA_DIR} holds another shop; "
            "set PLANNER_DATA to an empty folder for the demo."
        )
        assert not Part.objects.exists()


class TestMoved:
    def test_moves_the_history_by_whole_weeks(self):
        assert LAST_DAY == days.LAST_DAY
        assert weeks_since(LAST_DAY, LAST_DAY) == 0
        assert weeks_since(LAST_DAY, date(2026, 11, 30)) == 0
        assert weeks_since(LAST_DAY, date(2026, 12, 1)) == 1
        assert weeks_since(LAST_DAY, date(2026, 11, 23)) == -1

    def test_moves_days_and_leaves_months_and_price_lists(self):
        saved = []

        def save(rows, *, by):
            saved.extend(rows)
            return Saved()

        known = {title: replace(sheet, save=save) for title, sheet in sheets().items()}
        later = moved(known, days=14)
        later["Sites"].save([{"asks_logged_from": date(2026, 1, 1), "code": "QUAY"}], by=None)
        later["Evidence"].save([{"built_month": date(2019, 4, 1), "at": None}], by=None)
        later["Selling prices"].save([{"valid_from": date(2026, 1, 1)}], by=None)
        assert saved == [
            {"asks_logged_from": date(2026, 1, 15), "code": "QUAY"},
            {"built_month": date(2019, 4, 1), "at": None},
            {"valid_from": date(2026, 1, 1)},
        ]
