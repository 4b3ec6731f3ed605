from datetime import date, timedelta

import pytest

from inventory.reorder.models import PlanRun, PlanStatus
from inventory.reorder.rises import rises_ahead
from inventory.shop.models import ShopSettings
from tests.make import make_offer, make_part, make_plan_line, make_supplier

pytestmark = pytest.mark.django_db


def planned(site, supplier, part, **facts):
    run = PlanRun.objects.create(as_of=date(2026, 3, 4), status=PlanStatus.DONE)
    # 50 pieces in 52 weeks, nothing there.
    return make_plan_line(site, supplier, run=run, part=part, asks=50 / 52, **facts)


def rising(supplier, part, site, then=2_100, **facts):
    make_offer(supplier, part, pack_price_cents=2_000, **facts)
    soon = site.today() + timedelta(days=10)
    return make_offer(supplier, part, pack_price_cents=then, valid_from=soon, **facts)


def ahead(site):
    return rises_ahead(site, ShopSettings(holding_percent_per_year=25))


class TestRisesAhead:
    def test_buys_what_is_used_while_the_rise_pays_for_keeping_it(self, site, supplier):
        part = make_part()
        planned(site, supplier, part)
        rising(supplier, part, site)
        [rise] = ahead(site)
        # 1.00 against 5.00 a year: 73 days, in which 10 are used; the 10th breaks even.
        assert (rise.pieces, rise.days_worth) == (9, 73)
        # Piece k saves 1.00 − 0.10 k: 9.00 less 4.50, by hand.
        assert (rise.saving_cents, rise.rise_cents, rise.keeping_cents) == (450, 100, 500)

    def test_another_supplier_s_price_then_is_what_counts(self, site, supplier):
        part, other = make_part(), make_supplier()
        planned(site, supplier, part)
        rising(supplier, part, site)
        make_offer(other, part, pack_price_cents=2_050)
        rise = ahead(site)[0]
        assert (rise.rise_cents, rise.is_from_another, rise.pieces) == (50, True, 4)

    def test_nothing_is_bought_for_longer_than_a_year(self, site, supplier):
        part = make_part()
        planned(site, supplier, part)
        rising(supplier, part, site, then=9_000)
        rise = ahead(site)[0]
        assert (rise.days_worth, rise.pieces) == (365, 49)

    def test_what_is_there_and_coming_is_used_first(self, site, supplier):
        part = make_part()
        planned(site, supplier, part, on_hand=3, on_order=2)
        rising(supplier, part, site)
        assert ahead(site)[0].pieces == 4

    def test_only_whole_packs(self, site, supplier):
        part = make_part()
        planned(site, supplier, part)
        rising(supplier, part, site, pack=4)
        rise = ahead(site)[0]
        assert (rise.pieces % 4, rise.packs) == (0, rise.pieces // 4)

    @pytest.mark.parametrize("then", [2_000, 1_900])
    def test_a_price_that_does_not_rise_is_not_told(self, site, supplier, then):
        part = make_part()
        planned(site, supplier, part)
        rising(supplier, part, site, then=then)
        assert ahead(site) == []

    def test_a_part_the_plan_buys_elsewhere_is_not_told(self, site, supplier):
        part = make_part()
        planned(site, make_supplier(), part)
        rising(supplier, part, site)
        assert ahead(site) == []

    def test_without_a_plan_there_is_nothing_to_say(self, site):
        assert ahead(site) == []
