import pytest
from django.urls import reverse

from inventory.catalog.models import PartCode
from inventory.ledger.audit import audit
from inventory.ledger.models import Lot, Posting
from inventory.shop.models import ShopSettings
from tests.inventory.ledger.views.pages import free, stock, text_of
from tests.make import make_bin, make_part, make_user

pytestmark = pytest.mark.django_db


class Scanner:
    """Scans into one page and sends back what the page had in hand, as a browser does."""

    def __init__(self, client, name, site):
        self.client, self.address, self.site = client, reverse(f"inventory:{name}"), site
        self.page, self.count = client.get(self.address), 0

    def __call__(self, code, **fields):
        self.count += 1
        context = self.page.context
        in_hand = {name: context.get(name) for name in ("bin", "lot")}
        form = {name: record.pk for name, record in in_hand.items() if record}
        form |= {"last": context["last"], "pieces": context.get("pieces") or ""}
        form |= {"key": f"scan-{self.count}", "site": self.site.pk, "code": code}
        self.page = self.client.post(self.page.request["PATH_INFO"], form | fields, follow=True)
        return text_of(self.page)


@pytest.fixture
def part(site):
    kit = make_part("kit", number="KT-4")
    stock(kit, site, 9, cents=900)
    return kit


class TestScanIssue:
    def test_each_scan_issues_one_and_any_code_will_do(self, technician, site, part):
        PartCode.objects.create(part=part, kind="printed", code="L/9", code_key="L9")
        scan = Scanner(technician, "scan_issue", site)
        scan("kt 4")
        text = scan("L9")
        assert free(part, site) == 7
        assert text.count("1 piece of KT-4") == 2
        assert 'value="L9"' not in text

    def test_a_number_makes_it_that_many_in_all(self, technician, site, part):
        scan = Scanner(technician, "scan_issue", site)
        scan("KT-4")
        assert "3 pieces of KT-4" in scan("4")
        assert free(part, site) == 5
        scan("5")
        assert free(part, site) == 4
        assert "5 are posted already; undo that below, then scan again." in scan("2")

    def test_nought_takes_the_last_back(self, technician, site, part):
        scan = Scanner(technician, "scan_issue", site)
        scan("KT-4")
        assert "undone" in scan("0")
        assert free(part, site) == 9
        assert "3 of what? Scan a part first, then how many." in scan("3")

    def test_a_number_is_about_the_last_part_only(self, technician, site, part):
        second = make_part("kit", number="KT-5")
        stock(second, site, 9)
        scan = Scanner(technician, "scan_issue", site)
        for code in ("KT-4", "KT-5", "2"):
            scan(code)
        assert (free(part, site), free(second, site)) == (8, 7)

    def test_a_part_with_a_short_number_for_a_code_is_that_part(self, technician, site, part):
        short = make_part("kit", number="44")
        stock(short, site, 3)
        scan = Scanner(technician, "scan_issue", site)
        scan("KT-4")
        scan("44")
        assert (free(part, site), free(short, site)) == (8, 2)

    def test_a_beginning_issues_nothing_but_is_offered(self, technician, site, part):
        text = Scanner(technician, "scan_issue", site)("KT")
        assert "No part is known as “KT”." in text
        assert 'value="KT-4"' in text
        assert "The parts manager can link it to a part." in text
        assert free(part, site) == 9

    def test_a_code_of_two_parts_asks_which(self, technician, site, part):
        for each in (part, make_part("kit", number="KT-5")):
            PartCode.objects.create(part=each, kind="supplier", code="X1", code_key="X1")
        assert "“X1” names several parts: choose one below." in Scanner(
            technician, "scan_issue", site
        )("X1")
        assert free(part, site) == 9

    def test_none_left_says_so(self, technician, site):
        make_part("kit", number="KT-5")
        text = Scanner(technician, "scan_issue", site)("KT-5")
        assert "None of KT-5 on the shelf at Mill Road; receive stock first." in text

    def test_sent_twice_it_issues_once(self, technician, site, part):
        scan = Scanner(technician, "scan_issue", site)
        for _ in range(2):
            scan.count = 0
            scan("KT-4", occasion="J 3")
        assert free(part, site) == 8
        assert Posting.objects.get(kind="issued").occasion == "J 3"

    def test_another_part_scanned_before_the_page_came_back_is_issued_too(
        self, technician, site, part
    ):
        second = make_part("kit", number="KT-5")
        stock(second, site, 9)
        scan = Scanner(technician, "scan_issue", site)
        scan("KT-4")
        scan.count = 0
        assert scan("KT-5").count("1 piece of KT-") == 2
        assert (free(part, site), free(second, site)) == (8, 8)

    def test_costs_the_same_for_a_long_list(
        self, technician, site, part, django_assert_num_queries
    ):
        ShopSettings.load()
        scan = Scanner(technician, "scan_issue", site)
        for scans in (2, 5):
            for _ in range(scans):
                scan("KT-4")
            with django_assert_num_queries(8):
                technician.get(reverse("inventory:scan_issue"))


class TestScanReceive:
    def test_a_bins_label_then_parts_at_their_last_cost(self, manager, site, part):
        bin = make_bin(site, code="A3")
        scan = Scanner(manager, "scan_receive", site)
        assert "Scan to receive into bin A3" in scan("BIN-A3")
        scan("KT-4")
        scan("3")
        lots = Lot.objects.filter(bin=bin)
        assert [(lot.pieces_left, lot.cents_left) for lot in lots.order_by("pk")] == [
            (1, 100),
            (2, 200),
        ]
        assert audit() == []

    def test_a_part_never_bought_is_received_elsewhere(self, manager, site):
        make_part("kit", number="KT-5")
        assert (
            "KT-5 was never bought, so its cost is not known; "
            "find it under Stock and receive it there."
            in Scanner(manager, "scan_receive", site)("KT-5")
        )

    def test_is_not_for_the_technician(self, technician):
        assert technician.get(reverse("inventory:scan_receive")).status_code == 403


class TestScanMove:
    def test_a_part_then_its_bin_moves_the_lot(self, technician, site, part):
        bin = make_bin(site, code="A3")
        scan = Scanner(technician, "scan_move", site)
        assert "Move 9 of KT-4 into a bin" in scan("KT-4")
        assert "9 pieces of KT-4" in scan("BIN-A3")
        assert Lot.objects.get(bin=bin).pieces_left == 9

    def test_a_number_between_moves_so_many(self, technician, site, part):
        bin = make_bin(site, code="A3")
        scan = Scanner(technician, "scan_move", site)
        scan("KT-4")
        assert "Move 2 of KT-4 into a bin" in scan("2")
        scan("A3")
        assert Lot.objects.get(bin=bin).pieces_left == 2

    def test_what_lies_in_no_bin_goes_first(self, technician, site, part):
        bin = make_bin(site, code="A3")
        stock(part, site, 5, bin=make_bin(site, code="B1"), made_on="2020-01-01")
        scan = Scanner(technician, "scan_move", site)
        text = scan("KT-4")
        assert "Or move those" in text
        assert "in bin B1 (5, sealed)" in text
        scan("A3")
        assert Lot.objects.get(bin=bin).pieces_left == 9

    @pytest.mark.parametrize(
        ("code", "said"),
        [
            ("A3", "Scan the part first, then the bin it goes to."),
            ("KT-5", "None of KT-5 is at Mill Road; receive it first."),
            ("ZZ", "No part is known as “ZZ”."),
        ],
    )
    def test_what_cannot_be_moved_says_why(self, technician, site, part, code, said):
        make_bin(site, code="A3")
        make_part("kit", number="KT-5")
        assert said in Scanner(technician, "scan_move", site)(code)


class TestScanUndo:
    def undo(self, client, posting):
        address = reverse("inventory:scan_undo", args=[posting.pk])
        return client.post(address, {"name": "scan_issue"}, follow=True)

    def test_takes_one_back_from_the_running_list(self, technician, site, part):
        Scanner(technician, "scan_issue", site)("KT-4")
        posting = Posting.objects.get(kind="issued")
        for _ in range(2):
            assert "undone" in text_of(self.undo(technician, posting))
        assert free(part, site) == 9

    def test_not_what_another_person_scanned(self, technician, site, part):
        Scanner(technician, "scan_issue", site)("KT-4")
        technician.force_login(make_user(home_site=site))
        assert self.undo(technician, Posting.objects.get(kind="issued")).status_code == 403
        assert free(part, site) == 8
