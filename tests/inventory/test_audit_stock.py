import json

import pytest
from django.core.management import call_command

from inventory.ledger.actions import issue_stock
from inventory.ledger.models import Shelf
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def stocked():
    part, site = make_part(kind="kit", number="KT-4"), make_site(name="Quay")
    make_stock(part, site, pieces=3)
    issue_stock(part, site=site, pieces=1, by=None, key="i1")


class TestAuditStock:
    def test_says_that_all_agrees(self, stocked, capsys):
        call_command("audit_stock")
        assert capsys.readouterr().out == "The stock agrees with all 2 movements.\n"

    def test_as_json_a_clean_stock_is_an_empty_list(self, stocked, capsys):
        call_command("audit_stock", "--json")
        assert json.loads(capsys.readouterr().out) == []

    def test_a_fault_is_told_and_ends_with_1(self, stocked, capsys):
        Shelf.objects.update(on_hand=9)
        with pytest.raises(SystemExit) as ended:
            call_command("audit_stock")
        assert ended.value.code == 1
        told = "Shelf KT-4 at Quay: says 9 on hand; its lots and holds say 2.\n"
        assert capsys.readouterr().out == told

    def test_a_fault_as_json(self, stocked, capsys):
        Shelf.objects.update(on_hand=9)
        with pytest.raises(SystemExit):
            call_command("audit_stock", "--json")
        assert json.loads(capsys.readouterr().out) == [
            {
                "record": "Shelf KT-4 at Quay",
                "words": "says 9 on hand; its lots and holds say 2.",
            }
        ]
