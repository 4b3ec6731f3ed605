import pytest

from inventory.ledger.actions import (
    cost_of_postings,
    issue_stock,
    return_stock,
    revalue_stock,
    still_out,
    undo_posting,
)
from inventory.ledger.models import Condition
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def stock():
    part, site = make_part(kind="kit"), make_site()
    return make_stock(part, site, pieces=10, value_cents=1000), part, site


class TestStillOut:
    def test_an_undone_return_is_out_again(self, stock):
        _, part, site = stock
        issued = issue_stock(part, site=site, pieces=4, by=None, key="i").movements.get()
        back = return_stock(issued, pieces=3, by=None, key="b")
        assert still_out(issued) == (1, 100)
        undo_posting(back, by=None, key="u")
        assert still_out(issued) == (4, 400)


class TestCostOfPostings:
    def test_follows_returns_and_corrections_of_what_was_issued(self, stock):
        received, part, site = stock
        first = issue_stock(part, site=site, pieces=4, by=None, key="i1")
        second = issue_stock(part, site=site, pieces=1, by=None, key="i2")
        return_stock(first.movements.get(), pieces=1, by=None, key="b", condition=Condition.OPENED)
        revalue_stock(received.movements.get(), value_cents=2000, by=None, key="v")
        # Three pieces stayed with the first job, one with the second, at 200 each now.
        assert cost_of_postings([first.pk, second.pk]) == {first.pk: 600, second.pk: 200}

    def test_takes_the_same_queries_for_many(self, stock, django_assert_num_queries):
        _, part, site = stock
        postings = [
            issue_stock(part, site=site, pieces=1, by=None, key=f"i{n}").pk for n in range(9)
        ]
        with django_assert_num_queries(2):
            assert set(cost_of_postings(postings).values()) == {100}
