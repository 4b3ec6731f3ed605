import pytest
from django.urls import reverse

from inventory.catalog.models import PartCode
from inventory.ledger.actions import hold_parts
from inventory.ledger.models import Ask, Posting, Shelf
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
from tests.inventory.ledger.views.pages import free, send, stock, text_of
from tests.make import make_bin, make_part, make_site, make_user

pytestmark = pytest.mark.django_db


class TestShelfList:
    def test_lists_what_is_here_with_its_bin(self, technician, site):
        bin = make_bin(site, code="A3")
        stock(make_part(number="HERE"), site, 3, bin=bin)
        stock(make_part(number="THERE"), make_site(), 3)
        text = technician.get(reverse("inventory:shelf_list")).content.decode()
        assert "HERE" in text
        assert "A3" in text
        assert "THERE" not in text

    def test_words_above_the_list_filter_it(self, technician, site):
        part = make_part(number="PROMISED")
        stock(part, site, 3)
        hold_parts(part, site=site, pieces=1, job_key="J1", by=None, key="h")
        stock(make_part(number="PLAIN"), site, 3)
        text = technician.get(reverse("inventory:shelf_list"), {"show": "promised"})
        assert "PROMISED" in text.content.decode()
        assert "PLAIN" not in text.content.decode()

    def test_a_scanned_code_opens_its_shelf(self, technician):
        part = make_part()
        PartCode.objects.create(part=part, kind="label", code="L-9", code_key="L9")
        answer = technician.get(reverse("inventory:shelf_list"), {"q": "l 9"})
        assert answer.headers["Location"] == reverse("inventory:part_shelf", args=[part.pk])

    def test_several_parts_are_listed_with_their_shelves(self, technician, site):
        stock(make_part(number="AB-1"), site, 2)
        make_part(number="AB-2")
        text = technician.get(reverse("inventory:shelf_list"), {"q": "ab"}).content.decode()
        assert "2 parts for “ab”" in text
        assert "2 free" in text
        assert "never here" in text

    def test_nothing_known_says_what_next(self, technician):
        text = technician.get(reverse("inventory:shelf_list"), {"q": "zz"}).content.decode()
        assert "No part is known as “zz”" in text

    def test_costs_the_same_for_many_shelves(self, technician, site, django_assert_num_queries):
        ShopSettings.load()
        for count in (2, 30):
            for _ in range(count):
                stock(make_part(), site, 1, bin=make_bin(site))
            with django_assert_num_queries(7):
                technician.get(reverse("inventory:shelf_list"))


class TestPartShelf:
    def test_says_how_many_are_free_and_where(self, technician, site):
        part = make_part()
        stock(part, site, 4, bin=make_bin(site, code="A3"))
        hold_parts(part, site=site, pieces=1, job_key="J1", by=None, key="h")
        stock(part, make_site(name="Harbour"), 2)
        text = technician.get(reverse("inventory:part_shelf", args=[part.pk])).content.decode()
        assert "3 free at Mill Road, bin A3" in text
        assert "1 more promised to jobs." in text
        assert "2 free at Harbour" in text

    def test_cost_is_for_the_parts_manager(self, technician, site):
        part = make_part()
        stock(part, site, 1, cents=7919)
        address = reverse("inventory:part_shelf", args=[part.pk])
        assert "79.19" not in technician.get(address).content.decode()
        technician.force_login(make_user(Role.PARTS_MANAGER, home_site=site))
        assert "79.19" in technician.get(address).content.decode()

    def test_costs_the_same_for_many_movements(self, manager, site, django_assert_num_queries):
        ShopSettings.load()
        part = make_part()
        for count in (1, 12):
            for _ in range(count):
                stock(part, site, 1, bin=make_bin(site))
            with django_assert_num_queries(11):
                manager.get(reverse("inventory:part_shelf", args=[part.pk]))

    @pytest.mark.parametrize("done", ["x", "0", "9" * 30, "²", "\x00"])
    def test_an_odd_address_is_no_error(self, technician, done):
        part = make_part()
        address = reverse("inventory:part_shelf", args=[part.pk])
        assert technician.get(address, {"done": done}).status_code == 200


class TestPartIssue:
    def test_issues_tells_and_can_be_undone(self, technician, site):
        part = make_part()
        stock(part, site, 4, bin=make_bin(site, code="A3"))
        answer = send(technician, "part_issue", part, site, pieces=2, occasion="J 17")
        assert "Issued: 2 pieces from bin A3 for J 17." in answer.content.decode()
        assert free(part, site) == 2
        posting = Posting.objects.get(key="form-1")
        answer = technician.post(
            reverse("inventory:posting_undo", args=[posting.pk]), {"key": "u"}, follow=True
        )
        assert "Undone: 2 pieces to bin A3 for J 17." in answer.content.decode()
        assert free(part, site) == 4

    def test_a_form_sent_twice_issues_once(self, technician, site):
        part = make_part()
        stock(part, site, 4)
        for _ in range(2):
            send(technician, "part_issue", part, site, pieces=1)
        assert free(part, site) == 3
        assert Ask.objects.count() == 1

    def test_refuses_more_than_is_there_on_the_same_page(self, technician, site):
        part = make_part(number="AB-1")
        stock(part, site, 1)
        answer = send(technician, "part_issue", part, site, pieces=2)
        assert (
            "Only 1 of AB-1 on the shelf at Mill Road, not 2; "
            "issue 1 or fewer, or receive stock first." in answer.content.decode()
        )
        assert free(part, site) == 1

    def test_posts_at_the_site_the_form_was_shown_for(self, technician, site):
        part, other = make_part(), make_site(name="Harbour")
        stock(part, site, 1)
        stock(part, other, 1)
        technician.post(reverse("switch_site"), {"site": other.pk})
        answer = send(technician, "part_issue", part, site, pieces=1)
        assert (free(part, site), free(part, other)) == (0, 1)
        assert "None free at Mill Road" in answer.content.decode()

    @pytest.mark.parametrize("pieces", ["0", "-1", "x", "1.5", "", "99999999999"])
    def test_what_is_no_number_of_pieces_changes_nothing(self, technician, site, pieces):
        part = make_part()
        stock(part, site, 4)
        assert send(technician, "part_issue", part, site, pieces=pieces).status_code == 200
        assert free(part, site) == 4


class TestPartReceive:
    def test_receives_pieces_at_their_cost(self, manager, site):
        part, bin = make_part(), make_bin(site, code="A3")
        answer = send(
            manager, "part_receive", part, site, pieces=3, value="100.01", bin=bin.pk, came_from="N"
        )
        assert "Received: 3 pieces to bin A3." in answer.content.decode()
        lot = Shelf.objects.get(part=part).lots.get()
        assert (lot.pieces_left, lot.cents_left, lot.bin) == (3, 10001, bin)

    def test_keeps_the_day_it_was_made_if_that_has_been(self, manager, site):
        part, said = make_part(), {"pieces": 1, "value": "1"}
        answer = send(manager, "part_receive", part, site, made_on="2999-01-01", **said)
        assert "2999-01-01 is still to come; write the day it was made." in text_of(answer)
        send(manager, "part_receive", part, site, made_on="2025-03-04", **said)
        assert str(Shelf.objects.get(part=part).lots.get().made_on) == "2025-03-04"

    def test_is_not_for_the_technician(self, technician, site):
        part = make_part()
        assert send(technician, "part_receive", part, site, pieces=3, value="1").status_code == 403
        assert free(part, site) == 0

    @pytest.mark.parametrize("value", ["", "-1", "1.001", "x", "NaN"])
    def test_a_cost_that_is_none_is_refused(self, manager, site, value):
        part = make_part()
        send(manager, "part_receive", part, site, pieces=3, value=value)
        assert free(part, site) == 0

    def test_another_sites_bin_is_no_choice(self, manager, site):
        part, bin = make_part(), make_bin(make_site())
        send(manager, "part_receive", part, site, pieces=3, value="1", bin=bin.pk)
        assert free(part, site) == 0


class TestPartCount:
    def test_corrects_the_shelf_to_the_count(self, technician, site):
        part = make_part()
        stock(part, site, 4)
        answer = send(technician, "part_count", part, site, counted=3)
        assert "Counted: 1 piece." in answer.content.decode()
        assert free(part, site) == 3

    def test_a_count_that_agrees_says_so(self, technician, site):
        part = make_part()
        stock(part, site, 4)
        answer = send(technician, "part_count", part, site, counted=4)
        assert "The count agrees with the shelf; nothing to correct." in answer.content.decode()

    def test_more_of_a_part_never_bought_needs_its_cost(self, manager, site):
        part = make_part(number="AB-1")
        answer = send(manager, "part_count", part, site, counted=2)
        assert (
            "AB-1 was never bought, so its cost is not known; write what a piece costs."
            in answer.content.decode()
        )
        send(manager, "part_count", part, site, key="form-2", counted=2, unit_cost="5.00")
        assert free(part, site) == 2


class TestPostingUndo:
    def test_a_technician_undoes_only_their_own(self, technician, site):
        posting = stock(make_part(), site, 4)
        address = reverse("inventory:posting_undo", args=[posting.pk])
        answer = technician.post(address, {"key": "u"})
        assert answer.status_code == 403
        assert "The parts manager undoes what another person posted." in answer.content.decode()

    def test_what_has_moved_on_says_what_to_undo_first(self, manager, site):
        part = make_part()
        posting = stock(part, site, 4)
        send(manager, "part_issue", part, site, pieces=2)
        address = reverse("inventory:posting_undo", args=[posting.pk])
        answer = manager.post(address, {"key": "u"})
        assert free(part, site) == 2
        text = answer.content.decode()
        assert "These pieces have moved on since (Issued " in text
        assert "undo that first." in text
