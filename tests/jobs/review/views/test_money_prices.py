from datetime import date

import pytest
from django.urls import reverse

from inventory.models import Part, ShopSettings
from inventory.shop.roles import Role
from jobs.costing.prices import PriceBand
from jobs.models import Job, JobLine
from jobs.review.bands import band_previews, bands_as_charged
from jobs.review.inputs.part_money import part_money
from jobs.review.period import Span, periods_earned
from jobs.workshop.actions.lines import issue_part_for_job
from tests.make import (
    make_account,
    make_offer,
    make_part,
    make_site,
    make_stock,
    make_supplier,
    make_user,
)

pytestmark = pytest.mark.django_db

BANDS = [
    PriceBand(up_to_cents=1000, markup_percent=300),
    PriceBand(up_to_cents=None, markup_percent=100),
]


class TestPartMoney:
    def test_says_margin_now_at_the_offer_and_the_price_aimed_at(self):
        site, part = make_site(), make_part(list_price_cents=6000)
        make_stock(part, site, pieces=2, value_cents=8000)
        offer = make_offer(make_supplier(), part, pack=2, pack_price_cents=10000)
        make_offer(make_supplier(), part, pack=1, pack_price_cents=5400)
        (one,) = part_money(on=date(2026, 3, 9), margin_percent=50)
        assert (one.cost, one.offered) == (4000, 5000)
        assert one.margin == pytest.approx(1 / 3)
        assert one.margin_offered == pytest.approx(1 / 6)
        assert (one.wanted, one.change) == (10000, 4000)
        offer.delete()
        (one,) = part_money(on=date(2026, 3, 9), margin_percent=50)
        assert one.offered == 5400

    def test_reckons_margins_without_the_tax_that_prices_are_entered_with(self):
        site, part = make_site(), make_part(list_price_cents=6000)
        make_stock(part, site, pieces=1, value_cents=4000)
        (one,) = part_money(on=date(2026, 3, 9), margin_percent=50, tax_per_mille=200)
        assert (one.price, one.net) == (6000, 5000)
        assert one.margin == pytest.approx(0.2)
        # 80.00 earns half; a fifth of tax on it.
        assert (one.wanted, one.change) == (9600, 3600)

    def test_what_is_not_known_is_none(self):
        make_offer(make_supplier(), make_part())
        assert part_money(on=date(2019, 1, 1), margin_percent=50) == []
        (one,) = part_money(on=date(2026, 1, 1), margin_percent=50)
        assert (one.price, one.cost, one.margin, one.change) == (None, None, None, None)


@pytest.fixture
def sold(bay):
    """A body and two kits at 19.37 each; another kit given away."""
    issue_part_for_job(bay.job, part=bay.body, by=None, key="b")
    issue_part_for_job(bay.job, part=bay.kit, by=None, key="k", quantity=2)
    issue_part_for_job(bay.job, part=bay.kit, by=None, key="g", payer="goodwill")
    Job.objects.update(closed_at=bay.job.opened_at, closed_on=bay.site.today())
    return bay


def jobs_of(bay):
    day = bay.site.today()
    return periods_earned(Span(first=day, last=day))[0].jobs


class TestBandPreviews:
    def test_prices_what_was_sold_by_its_real_cost(self, sold):
        body, kits, both = band_previews(jobs_of(sold), BANDS)
        assert (body.pieces, body.sold.price_cents, body.banded_price_cents) == (1, 4200, 3874)
        assert (kits.pieces, kits.sold.price_cents, kits.banded_price_cents) == (2, 800, 7748)
        assert both.gained_cents == 3874 + 7748 - 4200 - 800
        assert both.banded_margin_cents == 3 * 1937

    def test_takes_the_discount_of_the_account_off(self, sold):
        account = make_account(discount_per_mille=100)
        Job.objects.update(account=account)
        assert band_previews(jobs_of(sold), BANDS)[0].banded_price_cents == 3487


class TestBandsAsCharged:
    def test_begins_with_the_markup_that_was_charged(self, sold):
        # 42.00 and twice 4.00 for three pieces at 19.37: less than they cost, so no markup.
        bands = bands_as_charged(jobs_of(sold))
        assert [band.markup_percent for band in bands] == [100, 0, 100, 100]
        JobLine.objects.filter(part=sold.kit, payer="customer").update(price_cents=10_000)
        # 142.00 for what cost 58.11.
        assert bands_as_charged(jobs_of(sold))[1].markup_percent == 144


class TestMoneyPrices:
    @pytest.fixture
    def owner(self, client, bay):
        client.force_login(make_user(Role.OWNER, home_site=bay.site))
        return client

    def test_shows_what_the_typed_bands_would_have_earned(self, owner, sold):
        typed = {"up_0": "1", "markup_0": "10", "up_1": "2", "markup_1": "10", "up_2": "3"}
        typed |= {"markup_2": "10", "markup_3": "100", "aim": "50"}
        page = owner.get(reverse("jobs:money_prices"), typed).content.decode()
        assert "These bands would have earned $58.11 on parts" in page
        assert "38.74" in page
        assert "with tax" not in page

    def test_says_that_prices_are_with_tax_where_they_are(self, owner, sold):
        ShopSettings(pk=1, prices_include_tax=True, tax_per_mille=250).save()
        page = owner.get(reverse("jobs:money_prices")).content.decode()
        assert "margins are on the price without it" in page
        # 42.00 and 8.00, a fifth of it tax, for what cost 58.11.
        assert "the prices charged earned −$18.11" in page

    def test_says_what_is_wrong_with_a_band(self, owner):
        page = owner.get(reverse("jobs:money_prices"), {"markup_0": "lots"}).content.decode()
        assert "Enter a whole number." in page

    def test_asks_the_database_the_same_for_every_kind(
        self, owner, sold, django_assert_max_num_queries
    ):
        with django_assert_max_num_queries(18):
            answer = owner.get(reverse("jobs:money_prices"), {"kind": "kit"})
        assert Part.objects.get(kind="body").number not in answer.content.decode()
