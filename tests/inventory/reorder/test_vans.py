import re

import pytest
from lxml import html

from inventory.ledger.actions import hold_parts, move_stock, receive_transfer, send_transfer
from inventory.ledger.models import Condition, Lot, Shelf, Transfer
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.actions.vans import Wanted, fill_van
from inventory.reorder.van_par import par_list
from inventory.shop.models import ShopSettings, SiteKind
from inventory.shop.roles import Role
from tests.inventory.reorder.pages import page
from tests.make import (
    make_bin,
    make_part,
    make_plan_line,
    make_site,
    make_stock,
    make_supplier,
    make_user,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def van(site):
    return make_site(name="Service van", kind=SiteKind.VAN)


@pytest.fixture
def road(site):
    return make_site(name="On the road", kind=SiteKind.TRANSIT)


@pytest.fixture
def driver(client, van):
    client.force_login(make_user(Role.TECHNICIAN, home_site=van))
    return client


@pytest.fixture
def kept(run, van):
    """The plan keeps two and orders four at a time: par is 6."""
    part = make_part(number="QX-4410")
    return make_plan_line(van, None, run=run, part=part, reorder_point=2, order_quantity=4)


def par_of(van):
    (line,) = par_list(van).lines
    return line


class TestParList:
    def test_par_is_the_reorder_point_and_one_order_quantity(self, van, kept):
        line = par_of(van)
        assert (line.par, line.here, line.missing, line.short) == (6, 0, 6, 6)

    def test_is_filled_from_the_fewest_shops_and_says_what_none_has(self, van, kept, site):
        other = make_site(name="Harbour Road")
        make_stock(kept.part, site, pieces=1)
        make_stock(kept.part, other, pieces=4)
        line = par_of(van)
        found = [(each.source, each.pieces) for each in line.fill_ups]
        assert found == [(other, 4), (site, 1)]
        assert line.short == 1

    def test_takes_from_the_shop_that_can_spare_it_first(self, van, kept, site, run):
        other = make_site(name="Harbour Road")
        make_stock(kept.part, site, pieces=9)
        make_stock(kept.part, other, pieces=8)
        for shop, here, point in ((site, 9, 8), (other, 8, 0)):
            make_plan_line(shop, None, run=run, part=kept.part, on_hand=here, reorder_point=point)
        assert [(each.source, each.pieces) for each in par_of(van).fill_ups] == [(other, 6)]

    def test_says_when_it_takes_the_last_of_a_shop(self, client, driver, van, kept, site):
        make_stock(kept.part, site, pieces=5)
        other = make_site(name="Harbour Road")
        make_stock(kept.part, other, pieces=4)
        assert [(one.pieces, one.leaves) for one in par_of(van).fill_ups] == [(5, 0), (1, 3)]
        assert page(client, "/plan/par/").count("its last") == 1

    def test_what_is_promised_is_nobodys_to_give_or_to_count(self, van, kept, site):
        make_stock(kept.part, site, pieces=5)
        make_stock(kept.part, van, pieces=3)
        hold_parts(kept.part, site=site, pieces=4, job_key="J-1", by=None, key="h-1")
        hold_parts(kept.part, site=van, pieces=1, job_key="J-2", by=None, key="h-2")
        line = par_of(van)
        assert (line.here, line.missing) == (2, 4)
        assert [each.pieces for each in line.fill_ups] == [1]

    def test_what_comes_by_road_or_by_order_is_not_sent_again(self, van, kept, site, road):
        make_stock(kept.part, site, pieces=9)
        send_transfer(kept.part, from_site=site, to_site=van, pieces=2, by=None, key="t-1")
        order = add_to_draft(make_supplier(), site=van, part=kept.part, pieces=3, by=None).order
        send_order(order, by=None)
        line = par_of(van)
        assert (line.coming, line.missing) == (5, 1)
        receive_transfer(Transfer.objects.get(), by=None, key="r-1")
        line = par_of(van)
        assert (line.here, line.coming, line.missing) == (2, 3, 1)

    def test_another_van_gives_nothing(self, van, kept):
        make_stock(kept.part, make_site(name="Second van", kind=SiteKind.VAN), pieces=9)
        assert par_of(van).fill_ups == ()

    def test_goes_by_the_bins_of_the_van(self, van, kept, run):
        for number, code in (("AA-1", "C-02"), ("ZZ-9", "A-01")):
            line = make_plan_line(van, None, run=run, part=make_part(number=number))
            make_stock(line.part, van, bin=make_bin(van, code=code))
        assert [one.bins for one in par_list(van).lines] == ["A-01", "C-02", ""]

    def test_names_no_bin_of_what_cannot_be_taken(self, van, kept, site):
        for pieces, code in ((2, "A-04"), (1, "CLAIMS")):
            make_stock(kept.part, site, pieces=pieces, bin=make_bin(site, code=code))
        failed = Lot.objects.get(bin__code="CLAIMS")
        move_stock(failed, pieces=1, by=None, key="m-1", condition=Condition.CLAIM)
        assert [(one.pieces, one.bins) for one in par_of(van).fill_ups] == [(2, "A-04")]

    def test_leaves_out_what_is_bought_when_asked(self, van, run):
        make_plan_line(van, None, run=run, reorder_point=-1)
        assert par_list(van).lines == []


class TestFillVan:
    def wanted(self, van):
        return [
            Wanted(part_id=each.part_id, source_id=each.source.pk, pieces=each.pieces)
            for line in par_list(van).lines
            for each in line.fill_ups
        ]

    def test_sends_everything_once_however_often_it_is_asked(self, van, kept, site, road):
        make_stock(kept.part, site, pieces=4)
        wanted = self.wanted(van)
        for _ in range(2):
            filled = fill_van(van, wanted=wanted, by=None, key="f-1")
            assert [transfer.pieces for transfer in filled.sent] == [4]
        assert Transfer.objects.count() == 1
        assert Shelf.objects.get(part=kept.part, site=site).usable == 0

    def test_what_is_no_longer_there_stays_on_the_list(self, van, kept, site, road, run):
        other = make_plan_line(van, None, run=run, part=make_part(number="RZ-7"))
        make_stock(kept.part, site, pieces=4)
        make_stock(other.part, site, pieces=9)
        wanted = self.wanted(van)
        hold_parts(kept.part, site=site, pieces=3, job_key="J-1", by=None, key="h-1")
        filled = fill_van(van, wanted=wanted, by=None, key="f-1")
        assert [transfer.part.number for transfer in filled.sent] == ["RZ-7"]
        (sentence,) = filled.short
        assert sentence.startswith("QX-4410 was not sent: ")
        missing = {one.line.part.number: one.missing for one in par_list(van).lines}
        assert missing == {"QX-4410": 6, "RZ-7": 0}

    def test_fills_no_shop(self, site):
        with pytest.raises(Exception, match="Quay Street is no van; choose a van to fill up"):
            fill_van(site, wanted=[], by=None, key="f-1")

    def test_takes_from_no_site_that_is_no_shop(self, van, kept):
        with pytest.raises(Exception, match="The shops or parts have changed; open the list again"):
            fill_van(
                van,
                wanted=[Wanted(part_id=kept.part_id, source_id=van.pk, pieces=1)],
                by=None,
                key="f-1",
            )


class TestPlanPar:
    def test_a_driver_reads_what_to_take_from_where(self, driver, van, kept, site):
        make_stock(kept.part, site, pieces=4, bin=make_bin(site, code="B-07"))
        text = page(driver, "/plan/par/")
        assert "Fill up 1 of 1 parts in Service van" in text
        assert "4 from Quay Street, B-07" in text
        assert "2 that no shop has" in text

    def test_a_shop_opens_the_list_of_its_van(self, manager, van, kept):
        text = page(manager, "/plan/par/")
        assert "Service van is short of 1 of 1 parts, and no shop has any" in text
        assert f'href="/plan/par/?van={van.pk}">Fill Service van' in page(manager, "/stock/")

    def test_the_plan_of_a_van_leads_to_it(self, client, van, kept):
        client.force_login(make_user(Role.PARTS_MANAGER, home_site=van))
        assert "Par list of this van" in page(client, "/plan/")

    def test_says_what_is_missing_to_make_a_list(self, manager, site):
        assert "This shop has no van yet" in page(manager, "/plan/par/")
        make_site(name="Service van", kind=SiteKind.VAN)
        assert "Nothing is planned yet" in page(manager, "/plan/par/")

    def test_a_van_that_is_not_there_has_no_list(self, manager, van):
        for asked in ("999999", "x", "٣"):
            assert "This shop has no van yet" in page(manager, f"/plan/par/?van={asked}")

    def test_costs_the_same_for_many_parts(
        self, driver, van, kept, site, run, django_assert_num_queries
    ):
        ShopSettings.load()
        make_stock(kept.part, site, pieces=4)
        with django_assert_num_queries(12):
            page(driver, "/plan/par/")
        for _ in range(10):
            line = make_plan_line(van, None, run=run)
            make_stock(line.part, site, pieces=4)
        with django_assert_num_queries(12):
            page(driver, "/plan/par/")


class TestPlanParSend:
    def form(self, driver):
        """What the page would send: every tick and the hidden fields."""
        read = html.fromstring(page(driver, "/plan/par/"))
        ticked = read.xpath("//input[@name='send' and @form='fill' and @checked]/@value")
        hidden = {each.name: each.value for each in read.xpath("//form[@id='fill']//input")}
        return hidden | {"send": ticked}

    def test_one_click_puts_all_of_it_on_the_road(self, driver, van, kept, site, road):
        make_stock(kept.part, site, pieces=5)
        make_stock(kept.part, make_site(name="Harbour Road"), pieces=4)
        sent = self.form(driver)
        for _ in range(2):
            answer = driver.post("/plan/par/send/", sent, follow=True)
            text = answer.content.decode()
            assert "1 part on the road to Service van; receive them in the van." in text
        assert sorted(transfer.pieces for transfer in Transfer.objects.all()) == [1, 5]
        assert "Service van carries all it should" in text

    def test_nothing_ticked_sends_nothing(self, driver, van, kept):
        answer = driver.post(
            "/plan/par/send/", {"van": van.pk, "key": "k", "send": "1-2"}, follow=True
        )
        assert "Nothing is ticked; tick what to send to the van." in answer.content.decode()
        assert not Transfer.objects.exists()

    def test_a_van_that_is_not_there_is_not_filled(self, driver, site):
        assert driver.post("/plan/par/send/", {"van": site.pk, "key": "k"}).status_code == 404

    def test_shows_no_cost_to_who_drives(self, driver, van, kept, site):
        make_stock(kept.part, site, pieces=4, value_cents=791_913)
        assert not re.search(r"7,?919", page(driver, "/plan/par/"))
