import pytest

from inventory.ledger.actions import hold_parts
from jobs.review.inputs.parts import shelf_pieces
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


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
