import pytest

from inventory.reorder.moves import moves
from tests.make import make_part, make_plan_line, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def part():
    return make_part()


@pytest.fixture
def line(part):
    """Three pieces to order."""
    return make_plan_line(make_site(), None, part=part, suggested_packs=3)


def other(part, **facts):
    """Keeps at most three, where a test says nothing else."""
    return make_plan_line(make_site(), None, part=part, **facts)


def told(found):
    return [(move.source, move.pieces) for move in found]


class TestMoves:
    def test_only_what_the_other_site_has_too_many_of(self, line, part):
        poor, rich = other(part, on_hand=3), other(part, on_hand=5)
        assert told(moves([line], [poor, rich])) == [(rich, 2)]

    def test_never_more_than_is_to_be_ordered(self, line, part):
        rich = other(part, on_hand=20)
        assert told(moves([line], [rich])) == [(rich, 3)]

    def test_the_richest_site_gives_first(self, line, part):
        rich, richer = other(part, on_hand=4), other(part, on_hand=5)
        assert told(moves([line], [rich, richer])) == [(richer, 2), (rich, 1)]

    def test_what_is_promised_there_stays_there(self, line, part):
        held = other(part, on_hand=6, held=3)
        assert told(moves([line], [held])) == []

    def test_what_is_coming_there_cannot_be_moved_yet(self, line, part):
        coming = other(part, on_hand=1, on_order=10)
        assert told(moves([line], [coming])) == [(coming, 1)]

    def test_a_site_that_buys_when_asked_gives_all_it_has(self, line, part):
        asked = other(part, on_hand=2, reorder_point=-1)
        assert told(moves([line], [asked])) == [(asked, 2)]

    def test_another_part_is_no_help(self, line):
        assert told(moves([line], [other(make_part(), on_hand=9)])) == []

    def test_a_van_is_filled_from_what_a_shop_has(self, part):
        van = make_plan_line(make_site(kind="van"), None, part=part, suggested_packs=2)
        shop = other(part, on_hand=3, held=2)
        other_van = make_plan_line(make_site(kind="van"), None, part=part, on_hand=3)
        assert told(moves([van], [shop, other_van])) == [(shop, 1)]
