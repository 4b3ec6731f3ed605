"""The shop's settings, sites and bins in the browser: what is kept, what is refused and why."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.ledger.actions import issue_stock
from inventory.shop.models import Bin, Change, ShopSettings, Site
from inventory.shop.roles import Role
from shopparts.shop_forms import GROUPS, MONEY
from tests.make import (
    make_bin,
    make_offer,
    make_part,
    make_site,
    make_stock,
    make_supplier,
    make_user,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    person = make_user(Role.OWNER, username="ruth")
    client.force_login(person)
    return person


@pytest.fixture
def manager(client):
    person = make_user(Role.PARTS_MANAGER)
    client.force_login(person)
    return person


def filled(client, **fields):
    """The settings as the page shows them, with these fields typed over."""
    form = client.get(reverse("shop_settings")).context["form"]
    shown = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in shown.items() if value is not None} | fields


def save(client, **fields):
    sent = filled(client, **fields)
    return client.post(reverse("shop_settings"), sent, follow=True).content.decode()


class TestShopSettings:
    def test_every_setting_stands_on_the_page_once(self, client, owner):
        kept = {f.name for f in ShopSettings._meta.concrete_fields if not f.primary_key}
        listed = [name for _, names in GROUPS for name in names]
        assert sorted(listed) == sorted(kept)

    def test_every_field_has_its_help(self, client, owner):
        form = client.get(reverse("shop_settings")).context["form"]
        assert [name for name, field in form.fields.items() if not field.help_text] == []

    def test_saves_amounts_shares_and_units_as_they_are_typed(self, client, owner):
        save(
            client,
            name="Saltmarsh Wheel and Tire",
            address="4 Quay\nHarbor",
            labour_price_cents="118.50",
            tax_per_mille="7.5",
            gauge_tolerance_kpa="1.5",
        )
        shop = ShopSettings.load()
        assert shop.name == "Saltmarsh Wheel and Tire"
        assert shop.address.split() == ["4", "Quay", "Harbor"]
        assert (shop.labour_price_cents, shop.tax_per_mille) == (11_850, 75)
        # 1.5 psi is 10.34 kPa by NIST SP 811 B.8.
        assert shop.gauge_tolerance_kpa == 10

    def test_saving_what_is_shown_changes_nothing(self, client, owner):
        save(client, labour_cost_cents="45.00")
        count = Change.objects.count()
        assert "settings are saved" in save(client)
        assert Change.objects.count() == count

    def test_logs_what_changed_and_by_whom(self, client, owner):
        save(client, tax_per_mille="6")
        change = Change.objects.get()
        assert (change.by, change.before, change.after) == (
            owner,
            {"tax_per_mille": 0},
            {"tax_per_mille": 60},
        )

    def test_another_owners_change_meanwhile_stays(self, client, owner):
        sent = filled(client, name="Gull and Sons")
        sent |= {f"initial-{name}": value for name, value in filled(client).items()}
        ShopSettings(pk=1, holding_percent_per_year=30).save()
        client.post(reverse("shop_settings"), sent)
        shop = ShopSettings.load()
        assert (shop.name, shop.holding_percent_per_year) == ("Gull and Sons", 30)

    def test_says_in_a_sentence_what_a_currency_code_is(self, client, owner):
        assert "“D2” is no currency code; write three letters" in save(client, currency="d2")

    def test_the_currency_may_change_while_no_money_is_written(self, client, owner):
        amounts = dict.fromkeys(MONEY, "100")
        save(client, currency="jpy", minor_digits="0", **amounts)
        shop = ShopSettings.load()
        assert (shop.currency, shop.minor_digits) == ("JPY", 0)
        assert {getattr(shop, name) for name in MONEY} == {100}

    def test_the_currency_stays_once_money_is_written(self, client, owner):
        make_part(list_price_cents=4200)
        text = save(client, currency="EUR")
        assert (
            "Amounts are written in USD already, such as the list price of one part, and none is "
            "converted; leave currency and digits as they are, or begin an empty shop."
        ) in text
        assert ShopSettings.load().currency == "USD"

    def test_a_price_of_a_supplier_is_money_too(self, client, owner):
        make_offer(make_supplier(), make_part())
        text = save(client, minor_digits="0", **dict.fromkeys(MONEY, "100"))
        assert "such as the price of a pack of one offer" in text


class TestSiteList:
    def test_counts_bins_with_a_constant_number_of_queries(self, client, manager):
        counts = []
        for number in (1, 4):
            for _ in range(number):
                make_bin(make_site())
            with CaptureQueriesContext(connection) as queries:
                answer = client.get(reverse("site_list"))
            counts.append(len(queries))
        assert [site.bin_count for site in answer.context["found"]] == [1] * 5
        assert counts[0] == counts[1]

    def test_goods_on_the_road_are_no_site_to_change(self, client, owner):
        road = make_site(kind="transit")
        assert client.get(reverse("site_list")).context["found"].count() == 0
        assert client.get(reverse("site_change", args=[road.pk])).status_code == 404


NEW = {"name": "Ferry Road", "code": "FERRY", "kind": "shop", "zone": "America/New_York"}


class TestSiteNew:
    def test_adds_a_site_and_leads_to_its_bins(self, client, owner):
        answer = client.post(reverse("site_new"), NEW | {"asks_logged_from": "2026-03-09"})
        site = Site.objects.get()
        assert answer.headers["Location"] == reverse("site_detail", args=[site.pk])
        assert site.asks_logged_from == date(2026, 3, 9)
        assert Change.objects.get().words == "site Ferry Road"

    def test_offers_zones_by_place(self, client, owner):
        zones = client.get(reverse("site_new")).context["zones"]
        assert {"UTC", "America/Chicago", "Europe/Oslo"} <= set(zones)
        assert not {"EST", "Etc/GMT+5", "US/Eastern"} & set(zones)

    def test_refuses_a_zone_that_does_not_exist(self, client, owner):
        text = client.post(reverse("site_new"), NEW | {"zone": "Ferry"}).content.decode()
        assert "“Ferry” is not a time zone; write one such as America/Chicago" in text

    def test_refuses_a_code_that_is_taken(self, client, owner):
        make_site(code="ferry")
        text = client.post(reverse("site_new"), NEW).content.decode()
        assert "Another site has this code; choose a different one." in text


class TestSiteChange:
    def test_logs_only_what_changed(self, client, owner):
        site = make_site(name="Ferry Road", code="FERRY", zone="America/New_York")
        client.post(reverse("site_change", args=[site.pk]), NEW | {"kind": "van"})
        change = Change.objects.get()
        assert (change.before, change.after) == ({"kind": "shop"}, {"kind": "van"})


class TestSiteDetail:
    def test_counts_the_parts_of_each_bin_with_a_constant_number_of_queries(self, client, manager):
        site = make_site()
        counts = []
        for number in (1, 3):
            for _ in range(number):
                make_stock(make_part(), site, bin=make_bin(site))
            with CaptureQueriesContext(connection) as queries:
                page = client.get(reverse("site_detail", args=[site.pk])).context["page"]
            counts.append(len(queries))
        assert [bin.part_count for bin in page] == [1] * 4
        assert counts[0] == counts[1]


def add(client, site, lines):
    path = reverse("bin_add", args=[site.pk])
    return client.post(path, {"lines": lines, "kind": "shelf"}, follow=True).content.decode()


class TestBinAdd:
    def test_adds_one_bin_a_line_with_its_words(self, client, manager):
        site = make_site()
        text = add(client, site, "A-01\r\nA-02, left of the door\r\n\r\n A-03\tthird board \r\n")
        assert "3 bins added" in text
        assert list(site.bins.values_list("code", "words")) == [
            ("A-01", ""),
            ("A-02", "left of the door"),
            ("A-03", "third board"),
        ]

    def test_adds_none_where_one_is_there_already(self, client, manager):
        site = make_site(name="Quay")
        make_bin(site, code="a-02")
        text = add(client, site, "A-01\nA-02")
        assert (
            "Quay has a bin A-02 already, or the lines name it twice; take that line out." in text
        )
        assert site.bins.count() == 1

    def test_says_which_code_is_too_long(self, client, manager):
        text = add(client, make_site(), "A" * 25)
        assert f"The code “{'A' * 25}” has 25 characters; write at most 24." in text


class TestBinDetail:
    def test_gives_a_bin_another_code(self, client, manager):
        bin = make_bin(make_site(), code="A-1")
        said = {"code": "B-1", "words": "by the door", "kind": "shelf"}
        client.post(reverse("bin_detail", args=[bin.pk]), said)
        bin.refresh_from_db()
        assert (bin.code, bin.words) == ("B-1", "by the door")
        assert Change.objects.get().before == {"code": "A-1", "words": ""}

    def test_names_what_lies_in_it(self, client, manager):
        bin = make_bin(make_site())
        make_stock(make_part(number="KIT-9"), bin.site, bin=bin, pieces=3)
        text = client.get(reverse("bin_detail", args=[bin.pk])).content.decode()
        assert "KIT-9" in text
        assert "3 pieces" in text


def drop(client, bin):
    return client.post(reverse("bin_drop", args=[bin.pk]), follow=True).content.decode()


class TestBinDrop:
    def test_drops_one_that_the_book_does_not_name(self, client, manager):
        bin = make_bin(make_site(), code="A-1")
        assert "Bin A-1 is dropped." in drop(client, bin)
        assert not Bin.objects.exists()

    def test_refuses_while_parts_lie_there(self, client, manager):
        bin = make_bin(make_site(), code="A-1")
        for number in ("K-1", "K-2", "K-3", "K-4"):
            make_stock(make_part(number=number), bin.site, bin=bin)
        text = drop(client, bin)
        assert "K-1, K-2, K-3 and 1 other part lie in bin A-1; move what lies there first." in text

    def test_refuses_where_parts_once_lay(self, client, manager):
        part, bin = make_part(), make_bin(make_site(), code="A-1")
        make_stock(part, bin.site, bin=bin)
        issue_stock(part, site=bin.site, pieces=1, by=None, key="gone")
        assert "the book keeps where; give it another code instead." in drop(client, bin)
        assert Bin.objects.exists()
