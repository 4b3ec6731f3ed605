import pytest

from inventory.ledger.actions import log_ask, settle_ask
from inventory.ledger.models import How
from inventory.reorder.inputs.facts import Rows
from inventory.reorder.inputs.stand_ins import read_stand_ins
from inventory.reorder.inputs.stock import read_shelves, rows_of
from tests.make import make_application, make_fitment, make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def parts():
    """One universal sensor shares two vehicles with the specific one, the other shares one."""
    specific = make_part(number="OWN")
    once, twice = (make_part(number=number, universal=True) for number in ("ONCE", "TWICE"))
    for listed in ((specific, once, twice), (specific, twice)):
        application = make_application()
        for part in listed:
            make_fitment(application, part)
    return specific, once, twice


def rows_with(*stocked):
    for part, site in stocked:
        make_stock(part, site)
    return rows_of(read_shelves())


def named(rows: Rows, found):
    return [
        (int(rows.part[a]), int(rows.part[b]), int(rows.site[a]), int(rows.site[b]))
        for a, b in zip(found.specific, found.universal, strict=True)
    ]


def settled(part, site, **pieces):
    for how, count in pieces.items():
        ask = log_ask(part, site=site, pieces=count, by=None, key=f"{part.pk}-{how}")
        settle_ask(ask, how=How(how), pieces=count)


class TestReadStandIns:
    def test_the_one_that_shares_most_vehicles_comes_first(self, parts):
        specific, once, twice = parts
        site = make_site()
        rows = rows_with(*((part, site) for part in parts))
        told = named(rows, read_stand_ins(rows))
        assert told == [
            (specific.pk, twice.pk, site.pk, site.pk),
            (specific.pk, once.pk, site.pk, site.pk),
        ]

    def test_only_of_a_site_where_the_plan_looks_at_both(self, parts):
        specific, once, twice = parts
        here, there = make_site(), make_site()
        rows = rows_with((specific, here), (once, here), (specific, there), (twice, there))
        assert named(rows, read_stand_ins(rows)) == [
            (specific.pk, once.pk, here.pk, here.pk),
            (specific.pk, twice.pk, there.pk, there.pk),
        ]

    def test_costs_the_same_for_many(self, parts, django_assert_num_queries):
        rows = rows_with(*((part, make_site()) for part in parts for _ in range(3)))
        with django_assert_num_queries(2):
            read_stand_ins(rows)

    def test_half_take_it_until_the_asks_tell(self, parts):
        site = make_site()
        rows = rows_with((parts[0], site))
        assert read_stand_ins(rows).share == 0.5
        # Of what was not on the shelf 16 of 24 pieces; with the assumption's 4 of 8, 20 of 32.
        settled(parts[0], site, shelf=9, substitute=16, lost=5, bought_in=3)
        assert read_stand_ins(rows).share == pytest.approx(20 / 32)

    def test_what_nothing_stands_in_for_tells_nothing_of_it(self, parts):
        site, alone = make_site(), make_part()
        rows = rows_with((parts[0], site))
        settled(alone, site, lost=40)
        assert read_stand_ins(rows).share == 0.5

    def test_without_any_parts_there_are_none(self):
        rows = rows_of(read_shelves())
        found = read_stand_ins(rows)
        assert len(found.specific) == len(found.universal) == 0
