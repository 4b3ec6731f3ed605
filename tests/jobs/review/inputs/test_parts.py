from dataclasses import replace
from functools import partial

import pytest

from inventory.ledger.actions import hold_parts, receive_stock, undo_posting
from jobs.review.inputs.parts import Choice, WheelParts, last_costs, shelf_pieces
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


def choice(kind):
    return Choice(
        part=make_part(kind, number=kind),
        quantity=1,
        price_cents=100,
        cost_cents=None,
        here=1,
        prepared_as="",
        warnings=(),
    )


def numbers(parts, action, *, snap_in):
    return [each.part.number for each in parts.for_action(action, snap_in=snap_in)]


class TestWheelParts:
    KINDS = ("assembly", "body", "stem", "kit", "plain_valve")

    @pytest.mark.parametrize(
        ("action", "snap_in", "clamp_in"),
        [
            ("leave", [], []),
            ("core", [], []),
            ("relearn", [], []),
            ("plain_valve", ["plain_valve"], ["plain_valve"]),
            ("reseal", ["stem"], ["kit"]),
            ("stem", ["stem"], ["stem", "kit"]),
            ("body", ["body"], ["body", "kit"]),
        ],
    )
    def test_an_action_takes_what_it_needs_and_no_more(self, action, snap_in, clamp_in):
        parts = WheelParts(**{kind: choice(kind) for kind in self.KINDS})
        assert numbers(parts, action, snap_in=True) == snap_in
        assert numbers(parts, action, snap_in=False) == clamp_in

    def test_without_an_assembly_one_is_put_together(self):
        parts = WheelParts(**{kind: choice(kind) for kind in self.KINDS[1:]})
        assert numbers(parts, "assembly", snap_in=False) == ["body", "stem", "kit"]
        # The rubber stem is the kit of a snap-in.
        assert numbers(parts, "assembly", snap_in=True) == ["body", "stem"]
        without_stem = replace(parts, stem=None)
        assert numbers(without_stem, "assembly", snap_in=True) == ["body", "kit"]


class TestLastCosts:
    def test_a_receipt_that_was_undone_cost_nothing(self):
        site, body, never = make_site(), make_part("body"), make_part("body")
        receive = partial(receive_stock, body, site=site, pieces=2, by=None)
        receive(value_cents=4_000, key="right")
        assert last_costs([body.pk, never.pk]) == {body.pk: 2_000}
        wrong = receive(value_cents=90_000, key="wrong")
        assert last_costs([body.pk]) == {body.pk: 45_000}
        undo_posting(wrong, by=None, key="undo")
        assert last_costs([body.pk]) == {body.pk: 2_000}


class TestShelfPieces:
    def test_what_is_promised_is_there_for_its_own_job_and_for_no_other(self):
        here, there, body = make_site(), make_site(), make_part("body")
        make_stock(body, here, pieces=3)
        make_stock(body, there, pieces=5)
        hold_parts(body, site=here, pieces=3, job_key="J-own", by=None, key="h")
        hold_parts(body, site=there, pieces=1, job_key="J-own", by=None, key="h2")
        assert shelf_pieces([body.pk], here, job_key="J-own") == {body.pk: (3, 4)}
        assert shelf_pieces([body.pk], here, job_key="J-other") == {body.pk: (0, 4)}

    def test_knows_nothing_of_a_part_that_lies_nowhere(self):
        assert shelf_pieces([make_part().pk], make_site(), job_key="J") == {}
