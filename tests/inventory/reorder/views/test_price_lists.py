from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.reorder.models import Offer, OrderLine, PlanRun, PlanStatus, PriceList
from tests.inventory.reorder.pages import page
from tests.make import make_offer, make_part, make_plan_line

pytestmark = pytest.mark.django_db

LIST = b"Item,Text,Price\nQX-4410,clamp-in,22.00\nRZ-77,snap-in,10.00\nZ-9,other,1.00\n"


@pytest.fixture
def offers(supplier):
    for number, cents in (("QX-4410", 2_000), ("RZ-77", 1_100)):
        make_offer(supplier, make_part(number=number), pack_price_cents=cents)


def upload(client, supplier, data=LIST, key="l-1"):
    file = SimpleUploadedFile("april.csv", data)
    return client.post(f"/suppliers/{supplier.pk}/prices/", {"key": key, "file": file})


def matched(client, supplier, **more):
    upload(client, supplier)
    listed = PriceList.objects.get()
    given = {"part": "Item", "price": "Price", "per": "pack", "mark": "."}
    given |= {"valid_from": "2026-04-01"} | more
    return listed, client.post(f"/price-lists/{listed.pk}/match/", given)


class TestPriceListNew:
    def test_leads_to_the_columns(self, manager, supplier):
        assert "New prices of Blyth" in page(manager, f"/suppliers/{supplier.pk}/prices/")
        answer = upload(manager, supplier)
        assert answer.url == f"/price-lists/{PriceList.objects.get().pk}/match/"

    def test_a_broken_file_is_refused_beside_its_field(self, manager, supplier):
        answer = upload(manager, supplier, data=b"\xff\xfe\x00")
        assert "is neither a workbook nor text in UTF-8" in answer.content.decode()
        assert not PriceList.objects.exists()


class TestPriceListMatch:
    def test_offers_what_the_headings_sound_like(self, manager, supplier):
        upload(manager, supplier)
        text = page(manager, f"/price-lists/{PriceList.objects.get().pk}/match/")
        assert '<option value="Item" selected>' in text
        assert "clamp-in" in text

    def test_one_column_for_two_things_is_refused(self, manager, supplier):
        _, answer = matched(manager, supplier, price="Item")
        assert "One column is chosen for two things" in answer.content.decode()


class TestPriceListDetail:
    def test_shows_old_and_new_with_percent(self, manager, supplier, offers):
        listed, _ = matched(manager, supplier)
        text = page(manager, f"/price-lists/{listed.pk}/")
        assert "1 price rises, 1 falls, 0 are new from 2026-04-01" in text
        # 22.00 against 20.00, and 10.00 against 11.00: by hand.
        assert "10% more" in text
        assert "9% less" in text
        assert "1 of parts we do not know" in text
        assert not Offer.objects.filter(valid_from=date(2026, 4, 1)).exists()

    def test_unmatched_it_leads_to_the_columns(self, manager, supplier):
        upload(manager, supplier)
        pk = PriceList.objects.get().pk
        assert manager.get(f"/price-lists/{pk}/").url == f"/price-lists/{pk}/match/"

    def test_costs_the_same_for_many_rows(
        self, manager, supplier, offers, django_assert_num_queries
    ):
        listed, _ = matched(manager, supplier)
        with django_assert_num_queries(11):
            page(manager, f"/price-lists/{listed.pk}/")
        for number in range(10):
            make_offer(supplier, make_part(number=f"MX-{number}"), pack_price_cents=500)
        listed.refresh_from_db()
        listed.rows += [[f"MX-{number}", "", "6.00"] for number in range(10)]
        listed.save()
        with django_assert_num_queries(11):
            page(manager, f"/price-lists/{listed.pk}/")


class TestPriceListAccept:
    def test_writes_the_offers_once(self, manager, supplier, offers):
        listed, _ = matched(manager, supplier)
        for _ in range(2):
            answer = manager.post(f"/price-lists/{listed.pk}/accept/", follow=True)
        assert "are accepted" in answer.content.decode()
        assert Offer.objects.filter(valid_from=date(2026, 4, 1)).count() == 2

    def test_unmatched_it_says_what_to_do(self, manager, supplier):
        upload(manager, supplier)
        pk = PriceList.objects.get().pk
        answer = manager.post(f"/price-lists/{pk}/accept/", follow=True)
        assert "Say what the columns mean first" in answer.content.decode()


@pytest.fixture
def rising(site, supplier):
    part = make_part(number="QX-4410")
    make_offer(supplier, part, pack_price_cents=2_000)
    soon = site.today() + timedelta(days=10)
    make_offer(supplier, part, pack_price_cents=2_100, valid_from=soon)
    run = PlanRun.objects.create(as_of=site.today(), status=PlanStatus.DONE)
    return make_plan_line(site, supplier, run=run, part=part, asks=50 / 52)


class TestRiseList:
    def test_says_what_to_order_before_which_day(self, manager, site, rising):
        text = page(manager, "/rises/")
        day = site.today() + timedelta(days=10)
        assert f"Order 1 part before {day}: it saves $4.50" in text
        assert "So what 73 days use is worth having, of 50 a year." in text

    def test_without_a_rise_says_so(self, manager):
        assert "No price of what the plan buys will rise" in page(manager, "/rises/")

    def test_costs_the_same_for_many(
        self, manager, site, supplier, rising, django_assert_num_queries
    ):
        with django_assert_num_queries(7):
            page(manager, "/rises/")
        for _ in range(10):
            line = make_plan_line(site, supplier, run=rising.run, asks=1)
            make_offer(supplier, line.part, pack_price_cents=2_000)
            soon = site.today() + timedelta(days=10)
            make_offer(supplier, line.part, pack_price_cents=2_100, valid_from=soon)
        with django_assert_num_queries(7):
            page(manager, "/rises/")


class TestRiseOrder:
    def test_puts_it_on_the_draft_once(self, manager, supplier, rising):
        for _ in range(2):
            answer = manager.post(f"/suppliers/{supplier.pk}/rises/")
        line = OrderLine.objects.get()
        assert line.pieces == 9
        assert answer.url == f"/orders/{line.order_id}/"

    def test_with_nothing_to_buy_says_so(self, manager, supplier):
        answer = manager.post(f"/suppliers/{supplier.pk}/rises/", follow=True)
        assert "is worth buying ahead; plan again first." in answer.content.decode()
