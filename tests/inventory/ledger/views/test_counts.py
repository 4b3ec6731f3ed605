from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.ledger.actions import count_line, issue_stock, start_count
from inventory.ledger.models import CountLine, CountSheet
from inventory.shop.models import BinKind, ShopSettings
from tests.inventory.ledger.views.pages import free, send, stock, text_of
from tests.make import make_bin, make_part

pytestmark = pytest.mark.django_db


@pytest.fixture
def bin(site):
    return make_bin(site, code="A3")


@pytest.fixture
def part(site, bin):
    kit = make_part("kit", number="KT-4")
    stock(kit, site, 7, bin=bin)
    return kit


@pytest.fixture
def sheet(site, bin, part):
    return start_count(site, title="Bins A3", bins=[bin], by=None, key="c1")


def shown(client, sheet, **asked):
    return text_of(client.get(reverse("inventory:count_sheet", args=[sheet.pk]), asked))


def enter(client, sheet, part, counted, bin=None, key="form-1"):
    said = {"part": part.pk, "bin": bin.pk if bin else "", "counted": counted}
    return text_of(send(client, "count_enter", sheet, sheet.site, key=key, **said))


class TestCountList:
    def test_says_what_is_going_on(self, technician, site, sheet, other):
        start_count(other, title="Elsewhere", part=make_part(), by=None, key="c2")
        text = text_of(technician.get(reverse("inventory:count_list")))
        assert "1 count going on at Mill Road" in text
        assert "0 of 1 counted" in text
        assert "Elsewhere" not in text

    def test_costs_the_same_for_many(self, technician, site, django_assert_num_queries):
        ShopSettings.load()
        for number in range(8):
            start_count(site, title=f"C{number}", part=make_part(), by=None, key=f"c{number}")
            if number in {0, 7}:
                with django_assert_num_queries(7):
                    technician.get(reverse("inventory:count_list"))


class TestCountStart:
    def start(self, client, site, **fields):
        form = {"key": "form-1", "site": site.pk} | fields
        return client.post(reverse("inventory:count_start"), form, follow=True)

    def test_by_bins_once(self, technician, site, bin, part):
        for _ in range(2):
            answer = self.start(technician, site, bins=[bin.pk])
        assert "Count Bins A3: 1 of 1 to do" in text_of(answer)
        assert CountSheet.objects.count() == 1

    def test_by_any_code_of_a_part(self, technician, site, part):
        self.start(technician, site, part="kt4")
        assert CountLine.objects.get().part == part

    def test_an_unknown_part_is_named(self, technician, site):
        answer = text_of(self.start(technician, site, part="ZZ-9"))
        assert "“ZZ-9” names no parts; write the number of one." in answer

    def test_nothing_chosen_says_what_to_do(self, technician, site):
        answer = text_of(self.start(technician, site))
        assert "Nothing to count was chosen; choose bins, or a part." in answer


class TestCountSheet:
    @pytest.mark.parametrize("asked", [{}, {"code": "A3"}, {"code": "KT-4"}])
    def test_is_blind(self, technician, site, bin, sheet, part, asked):
        stock(part, site, 7346, bin=bin)
        text = shown(technician, sheet, **asked)
        assert "KT-4" in text
        assert "7353" not in text

    def test_a_bins_label_then_a_part_then_a_number(self, technician, sheet, part, bin):
        assert "Bin A3: scan a part" in shown(technician, sheet, code="bin-a3")
        text = shown(technician, sheet, code="kt 4", bin=bin.pk)
        assert "bin A3" in text
        assert 'name="counted"' in text
        assert "KT-4 in A3: 7 counted, as the ledger says." in enter(
            technician, sheet, part, 7, bin
        )

    def test_a_part_in_several_bins_asks_which(self, technician, site, bin, part):
        second = make_bin(site, code="B1")
        stock(part, site, 1, bin=second)
        both = start_count(site, title="Both", bins=[bin, second], by=None, key="c2")
        assert "KT-4 lies in several bins: which one do you count?" in shown(
            technician, both, code="KT-4"
        )

    def test_a_part_listed_in_another_bin_than_the_one_in_hand_says_so(
        self, technician, site, sheet, part, bin
    ):
        text = shown(technician, sheet, code="KT-4", bin=make_bin(site, code="B1").pk)
        assert "bin B1" in text
        assert "On this sheet it is looked for elsewhere:" in text
        line = CountLine.objects.get()
        assert f'href="?line={line.pk}"' in text
        assert ", bin A3</h2>" in shown(technician, sheet, line=line.pk)

    def test_only_a_bin_that_was_scanned_stays_in_hand(self, technician, site, sheet, part, bin):
        assert "Scan a bin, or a part" in enter(technician, sheet, part, 7, bin)
        said = {"part": part.pk, "bin": bin.pk, "counted": 7, "in_hand": bin.pk}
        text = text_of(send(technician, "count_enter", sheet, site, key="form-2", **said))
        assert "Bin A3: scan a part, or the next bin" in text

    def test_an_unknown_code_is_offered_for_linking(self, manager, sheet):
        text = shown(manager, sheet, code="ZZ-9")
        assert "No part is known as “ZZ-9”." in text
        assert "Link “ZZ-9” to a part" in text

    def test_trays_stand_beside_the_difference(self, technician, site, sheet, part, bin):
        tray = make_bin(site, code="T2", kind=BinKind.TRAY)
        stock(part, site, 1, bin=tray)
        enter(technician, sheet, part, 6, bin)
        text = shown(technician, sheet)
        assert "6 counted, 1 piece fewer than the ledger says" in text
        assert "In job trays: 1 piece in T2." in text

    def test_a_late_posting_reopens_the_line(self, technician, site, sheet, part, bin):
        enter(technician, sheet, part, 7, bin)
        assert "Count these again" not in shown(technician, sheet)
        counted_at = CountLine.objects.get().seen_at
        assert counted_at is not None
        before = counted_at - timedelta(minutes=5)
        issue_stock(part, site=site, pieces=1, by=None, key="late", at=before)
        assert "Count these again" in shown(technician, sheet)

    def test_costs_the_same_for_many(self, technician, site, django_assert_num_queries):
        ShopSettings.load()
        bins = [make_bin(site) for _ in range(12)]
        for each in bins:
            stock(make_part("kit"), site, 2, bin=each)
        few = start_count(site, title="Few", bins=bins[:2], by=None, key="few")
        many = start_count(site, title="Many", bins=bins[2:], by=None, key="many")
        for sheet in (few, many):
            for line in sheet.lines.all()[1:]:
                count_line(sheet, line.part, counted=1, by=None, key=f"k{line.pk}", bin=line.bin)
            with django_assert_num_queries(8):
                shown(technician, sheet)


class TestCountEnter:
    def test_sent_twice_it_counts_once(self, technician, site, sheet, part, bin):
        enter(technician, sheet, part, 7, bin)
        issue_stock(part, site=site, pieces=1, by=None, key="i")
        enter(technician, sheet, part, 7, bin)
        assert CountLine.objects.get().difference == 0

    def at_noon(self, site):
        """Sets the site's clock to the hour after noon, whatever the hour of the test."""
        site.zone = f"Etc/GMT{timezone.now().hour - 12:+d}"
        site.save()

    def test_a_count_on_paper_is_compared_with_when_it_was_seen(
        self, technician, site, sheet, part, bin
    ):
        self.at_noon(site)
        stock(part, site, 3, bin=bin, at=timezone.now() - timedelta(days=1))
        said = {"part": part.pk, "bin": bin.pk, "counted": 3, "seen": "11:58"}
        send(technician, "count_enter", sheet, site, **said)
        assert CountLine.objects.get().difference == 0

    def test_a_time_still_to_come_is_refused(self, technician, site, sheet, part, bin):
        self.at_noon(site)
        said = {"part": part.pk, "bin": bin.pk, "counted": 3, "seen": "13:01"}
        answer = send(technician, "count_enter", sheet, site, **said)
        assert "13:01 is still to come; write when you counted." in text_of(answer)
        assert CountLine.objects.get().counted is None

    @pytest.mark.parametrize("counted", ["-1", "x", "", "1.5"])
    def test_what_is_no_number_is_not_written_down(self, technician, sheet, part, bin, counted):
        enter(technician, sheet, part, counted, bin)
        assert CountLine.objects.get().counted is None

    def test_another_sites_bin_is_refused(self, technician, sheet, part, other):
        enter(technician, sheet, part, 7, make_bin(other))
        assert CountLine.objects.get().counted is None


class TestCountSettle:
    def settle(self, client, sheet, **fields):
        line = CountLine.objects.get()
        address = reverse("inventory:count_settle", args=[sheet.pk, line.pk])
        return text_of(client.post(address, fields, follow=True))

    def test_corrects_the_shelf_to_the_count(self, technician, site, sheet, part, bin):
        enter(technician, sheet, part, 6, bin)
        assert "KT-4 in A3: corrected to 6." in self.settle(technician, sheet)
        assert free(part, site) == 6

    def test_above_the_limit_only_an_owner(self, technician, site, sheet, part, bin):
        ShopSettings(pk=1, count_confirm_cents=100).save()
        enter(technician, sheet, part, 6, bin)
        answer = self.settle(technician, sheet)
        assert "KT-4 in A3 differs by more than a count may correct alone;" in answer
        assert free(part, site) == 7

    def test_the_cost_of_a_part_never_bought_is_for_the_parts_manager(
        self, manager, site, sheet, part, bin
    ):
        new = make_part("kit", number="NEW-1")
        CountLine.objects.all().delete()
        enter(manager, sheet, new, 2, bin)
        assert "write what a piece costs." in self.settle(manager, sheet)
        self.settle(manager, sheet, unit_cost="5.00")
        assert free(new, site) == 2


class TestCountClose:
    def test_puts_the_sheet_away(self, technician, site, sheet, part, bin):
        enter(technician, sheet, part, 6, bin)
        answer = text_of(send(technician, "count_close", sheet, site))
        assert "KT-4 in A3 is not settled;" in answer
        enter(technician, sheet, part, 7, bin, key="form-2")
        send(technician, "count_close", sheet, site)
        sheet.refresh_from_db()
        assert sheet.closed_at is not None
