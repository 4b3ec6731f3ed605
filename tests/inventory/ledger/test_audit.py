"""A ledger made by the actions is clean; each thing that must never be false is found when it is.

Faults are written past the actions, in SQL, and past the triggers where those would forbid it.
"""

import pytest
from django.db import connection

from inventory.catalog.models import MadeOf, PartKind
from inventory.ledger.actions import (
    Occasion,
    count_stock,
    hold_parts,
    issue_stock,
    move_stock,
    receive_transfer,
    return_stock,
    revalue_stock,
    scrap_stock,
    send_transfer,
    take_apart,
    take_off_car,
    undo_posting,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import Condition, Movement
from inventory.ledger.triggers import create_triggers, drop_triggers
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def stocked(kit, site):
    """Seven received for 10.00 as “in”, two of them issued as “out”, one held."""
    make_stock(kit, site, pieces=7, value_cents=1000, key="in")
    issue_stock(kit, site=site, pieces=2, by=None, key="out")
    hold_parts(kit, site=site, pieces=1, job_key="J-1", by=None, key="h1")
    assert audit() == []


@pytest.fixture
def write():
    """Runs SQL with the triggers out of the way."""

    def run(sql):
        drop_triggers(connection)
        with connection.cursor() as cursor:
            cursor.execute(sql)
        create_triggers(connection)

    return run


def faults():
    return [str(fault) for fault in audit()]


class TestAudit:
    def test_everything_the_actions_do_is_clean(self, kit, site):
        whole, body = make_part(), make_part(PartKind.BODY)
        MadeOf.objects.create(whole=whole, piece=body, quantity=2)
        received = make_stock(kit, site, pieces=9, value_cents=1000)
        make_stock(whole, site, pieces=2, value_cents=777)
        issued = issue_stock(kit, site=site, pieces=4, by=None, key="i1")
        return_stock(issued.movements.get(), pieces=1, by=None, key="b1")
        return_stock(
            issued.movements.get(), pieces=1, by=None, key="b2", condition=Condition.OPENED
        )
        revalue_stock(received.movements.get(), value_cents=1234, by=None, key="v1")
        move_stock(received.movements.get().lot, pieces=1, by=None, key="m1", to_site=make_site())
        transfer = send_transfer(
            kit, from_site=site, to_site=make_site(), pieces=1, by=None, key="t1"
        )
        receive_transfer(transfer, by=None, key="t2")
        undo_posting(take_apart(whole, site=site, by=None, key="a1"), by=None, key="u1")
        take_apart(whole, site=site, by=None, key="a2")
        take_off_car(kit, site=site, by=None, key="off", occasion=Occasion(words="J-1"))
        scrap_stock(kit, site=site, pieces=1, by=None, key="s1", words="bent")
        count_stock(kit, site=site, counted=9, by=None, key="c1")
        assert faults() == []

    def test_a_lot_that_says_otherwise_than_its_movements(self, stocked, write):
        write("UPDATE inventory_lot SET pieces_left = 4, cents_left = cents_left - 1")
        assert faults() == [
            "Lot in/1: says 4 pieces left; its movements say 5.",
            "Lot in/1: says 713 cents left; its movements say 714.",
        ]

    def test_a_shelf_that_says_otherwise_than_its_lots_and_holds(self, stocked, write):
        write("UPDATE inventory_shelf SET on_hand = 9, usable = 6, held = 0")
        assert faults() == [
            "Shelf KT-4 at Quay: says 9 on hand; its lots and holds say 5.",
            "Shelf KT-4 at Quay: says 6 usable; its lots and holds say 5.",
            "Shelf KT-4 at Quay: says 0 held; its lots and holds say 1.",
        ]

    def test_a_movement_that_was_changed(self, stocked, write):
        write("UPDATE inventory_movement SET pieces = -8 WHERE pieces < 0")
        assert "Movement out/1: leaves -1 pieces in its lot." in faults()

    def test_a_movement_that_was_deleted(self, stocked, write):
        write("DELETE FROM inventory_movement WHERE pieces < 0")
        assert "Posting out: has no movements; it was left half posted." in faults()
        assert "Lot in/1: says 5 pieces left; its movements say 7." in faults()

    def test_a_movement_of_another_part_than_its_lot(self, stocked, write):
        other = make_part(kind="kit")
        write(f"UPDATE inventory_movement SET part_id = {other.pk} WHERE pieces < 0")
        assert "Movement out/1: names another part or site than its lot." in faults()

    def test_more_that_came_back_than_went(self, stocked, write, kit, site):
        issued = Movement.objects.get(posting__key="out")
        return_stock(issued, pieces=2, by=None, key="b1")
        write("UPDATE inventory_movement SET pieces = 3 WHERE of_id IS NOT NULL")
        assert "Movement b1/1: brings back 3 of 2 of movement out/1." in faults()

    def test_a_return_that_answers_nothing(self, stocked, write):
        return_stock(Movement.objects.get(posting__key="out"), pieces=1, by=None, key="b1")
        write("UPDATE inventory_movement SET of_id = NULL")
        assert "Movement b1/1: does not say which movement it answers." in faults()

    def test_cents_out_of_nothing(self, stocked, write, kit, site):
        move_stock(
            Movement.objects.get(posting__key="in").lot, pieces=1, by=None, key="m1",
            condition=Condition.CHECKED,
        )  # fmt: skip
        write("UPDATE inventory_movement SET cents = cents + 5 WHERE pieces = 1")
        assert "Posting m1: makes 5 cents out of nothing." in faults()

    def test_an_undo_that_is_not_the_opposite(self, stocked, write, kit, site):
        received = make_stock(kit, site, pieces=2, key="twice")
        undo_posting(received, by=None, key="u1")
        write("UPDATE inventory_movement SET pieces = -1 WHERE pieces = -2 AND of_id IS NOT NULL")
        assert "Movement u1/1: is not the opposite of twice/1." in faults()

    def test_a_kind_that_does_what_it_cannot(self, stocked, write):
        write("UPDATE inventory_posting SET kind = 'received' WHERE key = 'out'")
        assert "Posting out: takes pieces away though it brings them in." in faults()

    def test_an_issue_that_answers_no_ask(self, stocked, write):
        write("DELETE FROM inventory_askoutcome")
        assert faults() == ["Movement out/1: issues 2 pieces, of which 0 answer an ask."]

    def test_more_outcomes_than_were_asked_for(self, stocked, write):
        write("UPDATE inventory_ask SET pieces = 1")
        assert faults() == ["Ask out:ask: is for 1 pieces, and 2 are settled."]

    def test_a_trigger_that_is_missing(self, stocked):
        drop_triggers(connection)
        told = faults()
        create_triggers(connection)
        assert told
        assert all(line.endswith("is missing; run migrate to have it made again.") for line in told)
