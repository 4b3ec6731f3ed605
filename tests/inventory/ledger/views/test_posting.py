from datetime import timedelta

import pytest
from django.urls import reverse

from inventory.catalog.models import Counted, MadeOf
from inventory.ledger.actions import Occasion, issue_stock
from inventory.ledger.audit import audit
from inventory.ledger.models import Condition, Hold, Lot, Posting, Transfer
from inventory.shop.models import ShopSettings
from tests.inventory.ledger.views.pages import free, send, stock, text_of
from tests.make import make_bin, make_part

pytestmark = pytest.mark.django_db


def page(client, name, part):
    return client.get(reverse(f"inventory:{name}", args=[part.pk]))


def undo_last(client, part, key="u"):
    posting = Posting.objects.filter(movements__part=part).distinct().order_by("-pk")[0]
    answer = client.post(
        reverse("inventory:posting_undo", args=[posting.pk]), {"key": key}, follow=True
    )
    return text_of(answer)


@pytest.fixture
def whole():
    """An assembly of a body, a stem and a cap nobody counts."""
    made = make_part(number="WH-1")
    for kind, counted in (("body", "each"), ("stem", "each"), ("cap", Counted.NOT)):
        piece = make_part(kind, number=f"{kind.upper()}-1", counted=counted)
        MadeOf.objects.create(whole=made, piece=piece)
    return made


def piece_of(whole, kind):
    return whole.pieces.get(piece__kind=kind).piece


class TestPartReturn:
    def issue(self, part, site, pieces=2, job="J 17"):
        occasion = Occasion(words=job)
        posting = issue_stock(
            part, site=site, pieces=pieces, by=None, key=f"i-{job}", occasion=occasion
        )
        return posting.movements.get()

    def test_a_sealed_piece_goes_back_to_its_lot(self, technician, site):
        part = make_part()
        stock(part, site, 3, cents=1000)
        issued = self.issue(part, site)
        assert "J 17: 2 of 2 out" in text_of(page(technician, "part_return", part))
        answer = send(
            technician, "part_return", part, site, issued=issued.pk, pieces=1, condition="sealed"
        )
        assert "Returned by a job: 1 piece for J 17." in text_of(answer)
        assert free(part, site) == 2
        assert "J 17: 1 of 2 out" in text_of(page(technician, "part_return", part))
        assert "Undone: 1 piece for J 17." in undo_last(technician, part)
        assert free(part, site) == 1
        assert audit() == []

    @pytest.mark.parametrize(("condition", "kept_for"), [("opened", ""), ("prepared", "J 17")])
    def test_what_was_opened_or_prepared_is_not_sold_as_new(
        self, technician, site, condition, kept_for
    ):
        part, bin = make_part(), make_bin(site)
        stock(part, site, 2)
        fields = {"issued": self.issue(part, site).pk, "pieces": 2, "condition": condition}
        send(technician, "part_return", part, site, bin=bin.pk, **fields)
        lot = Lot.objects.get(condition=condition)
        assert (lot.pieces_left, lot.cents_left, lot.bin, lot.prepared_for) == (
            2,
            1000,
            bin,
            kept_for,
        )
        assert free(part, site) == 0

    def test_more_than_is_out_is_refused_and_changes_nothing(self, technician, site):
        part = make_part(number="AB-1")
        stock(part, site, 2)
        issued = self.issue(part, site)
        answer = send(
            technician, "part_return", part, site, issued=issued.pk, pieces=3, condition="sealed"
        )
        assert "Only 2 of AB-1 are still out on this issue, not 3; return 2 or fewer." in text_of(
            answer
        )
        assert free(part, site) == 0

    def test_sent_twice_it_returns_once(self, technician, site):
        part = make_part()
        stock(part, site, 2)
        issued = self.issue(part, site)
        for _ in range(2):
            send(
                technician,
                "part_return",
                part,
                site,
                issued=issued.pk,
                pieces=1,
                condition="sealed",
            )
        assert free(part, site) == 1

    def test_an_issue_that_was_undone_is_offered_no_more(self, manager, site):
        part = make_part()
        stock(part, site, 2)
        self.issue(part, site)
        undo_last(manager, part)
        answer = text_of(page(manager, "part_return", part))
        assert "No piece of this part is out on a job here" in answer

    def test_costs_the_same_for_many_issues(self, technician, site, django_assert_num_queries):
        ShopSettings.load()
        part = make_part()
        stock(part, site, 20)
        for jobs in (range(1), range(1, 12)):
            for job in jobs:
                self.issue(part, site, pieces=1, job=f"J {job}")
            with django_assert_num_queries(10):
                page(technician, "part_return", part)


class TestPartScrap:
    def test_writes_off_with_its_reason_and_can_be_undone(self, technician, site):
        part = make_part()
        stock(part, site, 3)
        answer = send(technician, "part_scrap", part, site, pieces=1, words="dropped", lot="")
        assert "Scrapped: 1 piece." in text_of(answer)
        assert Posting.objects.get(key="form-1").words == "dropped"
        assert free(part, site) == 2
        undo_last(technician, part)
        assert free(part, site) == 3

    def test_no_reason_no_scrap(self, technician, site):
        part = make_part()
        stock(part, site, 3)
        send(technician, "part_scrap", part, site, pieces=1, words=" ")
        assert free(part, site) == 3

    def test_the_cell_in_a_sensor_has_its_caution(self, technician):
        caution = "sealed lithium cell: never open, heat or crush it."
        assert caution in text_of(page(technician, "part_scrap", make_part()))
        assert caution not in text_of(page(technician, "part_scrap", make_part("stem")))

    def test_takes_from_the_lot_that_was_named(self, technician, site):
        part = make_part()
        stock(part, site, 3, maker_code="OLD")
        lot = stock(part, site, 3, maker_code="NEW").movements.get().lot
        send(technician, "part_scrap", part, site, pieces=2, words="wet", lot=lot.pk)
        lot.refresh_from_db()
        assert lot.pieces_left == 1


class TestPartMove:
    def move(self, client, part, site, **fields):
        lot = Lot.objects.left().get(shelf__part=part)
        said = {"lot": lot.pk, "pieces": 2, "bin": "", "to_site": site.pk}
        return send(client, "part_move", part, site, **said | fields)

    def test_to_another_bin_and_back(self, technician, site):
        part, bin = make_part(), make_bin(site, code="A3")
        stock(part, site, 3)
        answer = self.move(technician, part, site, bin=bin.pk)
        assert "Moved: 2 pieces, 2 pieces to bin A3." in text_of(answer)
        assert Lot.objects.get(bin=bin).pieces_left == 2
        undo_last(technician, part)
        assert not Lot.objects.left().filter(bin=bin).exists()

    def test_to_a_van_at_once(self, technician, site, other):
        part = make_part()
        stock(part, site, 3)
        self.move(technician, part, site, to_site=other.pk)
        assert (free(part, site), free(part, other)) == (1, 2)

    def test_an_opened_one_that_was_checked_is_sold_again(self, technician, site):
        part = make_part()
        stock(part, site, 2, condition=Condition.OPENED)
        self.move(technician, part, site, condition="checked")
        assert free(part, site) == 2

    def test_to_where_it_lies_is_refused(self, technician, site):
        part = make_part()
        stock(part, site, 3)
        answer = self.move(technician, part, site)
        assert "lies there already; choose another bin, condition or site." in text_of(answer)

    def test_a_lot_of_another_part_is_no_choice(self, technician, site):
        part, lot = make_part(), stock(make_part(), site, 3).movements.get().lot
        stock(part, site, 3)
        self.move(technician, part, site, lot=lot.pk, bin=make_bin(site).pk)
        lot.refresh_from_db()
        assert lot.pieces_left == 3

    def test_says_where_there_is_none(self, technician):
        answer = text_of(page(technician, "part_move", make_part()))
        assert "None of this part is at Mill Road, so there is none to move." in answer


class TestPartSend:
    def test_puts_it_on_the_road_once_and_can_be_undone(self, technician, site, other):
        part = make_part()
        stock(part, site, 3)
        for _ in range(2):
            answer = send(
                technician, "part_send", part, site, pieces=2, to_site=other.pk, borrowed="on"
            )
        assert "Moved: 2 pieces, MILL to HARB." in text_of(answer)
        assert Transfer.objects.on_the_road().get().borrowed == "send_back"
        assert (free(part, site), free(part, other)) == (1, 0)
        undo_last(technician, part)
        assert free(part, site) == 3
        assert not Transfer.objects.on_the_road().exists()

    def test_its_own_site_is_no_choice(self, technician, site, other):
        part = make_part()
        stock(part, site, 3)
        send(technician, "part_send", part, site, pieces=2, to_site=site.pk)
        assert not Transfer.objects.exists()


class TestPartHold:
    def test_promises_pieces_to_a_job_once(self, technician, site):
        part = make_part(number="AB-1")
        stock(part, site, 3)
        for _ in range(2):
            answer = send(
                technician, "part_hold", part, site, pieces=2, job_key="J 4", days=3, deposit="20"
            )
        assert "2 of AB-1 held for J 4." in text_of(answer)
        assert free(part, site) == 1
        hold = Hold.objects.get()
        assert hold.deposit_cents == 2000
        assert hold.expires_at is not None
        assert abs(hold.expires_at - hold.made_at - timedelta(days=3)) < timedelta(minutes=1)

    def test_refuses_more_than_is_free(self, technician, site):
        part = make_part(number="AB-1")
        stock(part, site, 1)
        answer = send(technician, "part_hold", part, site, pieces=2, job_key="J 4", days=3)
        assert (
            "Only 1 of AB-1 on the shelf at Mill Road, not 2; "
            "hold 1 or fewer, or receive stock first." in text_of(answer)
        )
        assert free(part, site) == 1


class TestPartTakeApart:
    def test_the_rest_goes_to_loose_stock_at_its_share(self, technician, site, whole):
        stock(whole, site, 2, cents=2001)
        body, stem = piece_of(whole, "body"), piece_of(whole, "stem")
        send(
            technician,
            "part_take_apart",
            whole,
            site,
            pieces=1,
            used=[body.pk],
            occasion="J 9",
            bin="",
            lot="",
        )
        assert (free(whole, site), free(body, site), free(stem, site)) == (1, 0, 1)
        assert Posting.objects.get(key="form-1/used/1").occasion == "J 9"
        shares = {
            lot.shelf.part: lot.cents_received
            for lot in Lot.objects.filter(came_from__startswith="WH-1")
        }
        assert sum(shares.values()) == 1001
        assert audit() == []

    def test_the_undo_says_what_to_undo_first(self, technician, site, whole):
        stock(whole, site, 1)
        body = piece_of(whole, "body")
        send(technician, "part_take_apart", whole, site, pieces=1, used=[body.pk])
        apart = Posting.objects.get(key="form-1")
        address = reverse("inventory:posting_undo", args=[apart.pk])
        answer = text_of(technician.post(address, {"key": "u"}))
        assert "These pieces have moved on since (Issued" in answer
        assert free(whole, site) == 0

    def test_a_kit_is_opened_for_its_seal(self, technician, site):
        kit = make_part("kit")
        for kind in ("seal", "core"):
            piece = make_part(kind, number=f"{kind}-1")
            MadeOf.objects.create(whole=kit, piece=piece)
        form = page(technician, "part_take_apart", kit).context["form"]
        assert [str(piece) for piece in form["used"].initial] == ["seal-1"]

    def test_a_cap_nobody_counts_is_no_choice(self, technician, whole):
        answer = text_of(page(technician, "part_take_apart", whole))
        assert "BODY-1" in answer
        assert "CAP-1" not in answer

    def test_what_is_made_of_nothing_says_so(self, technician):
        answer = text_of(page(technician, "part_take_apart", make_part(number="AB-1")))
        assert "Nothing is listed as a counted piece of AB-1." in answer


class TestPartPutTogether:
    def test_makes_one_of_loose_pieces_at_their_cents(self, technician, site, whole):
        stock(piece_of(whole, "body"), site, 1, cents=900)
        stock(piece_of(whole, "stem"), site, 1, cents=150)
        assert "1 each, 1 free" in text_of(page(technician, "part_put_together", whole))
        send(technician, "part_put_together", whole, site, pieces=1, occasion="", bin="")
        assert Lot.objects.get(shelf__part=whole).cents_left == 1050
        undo_last(technician, whole)
        assert (free(whole, site), free(piece_of(whole, "stem"), site)) == (0, 1)

    def test_a_piece_that_is_missing_is_named(self, technician, site, whole):
        stock(piece_of(whole, "body"), site, 1)
        answer = send(technician, "part_put_together", whole, site, pieces=1)
        assert "None of STEM-1 on the shelf at Mill Road; receive stock first." in text_of(answer)
        assert free(piece_of(whole, "body"), site) == 1
