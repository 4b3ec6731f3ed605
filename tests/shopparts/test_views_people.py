"""People invited, changed and kept out; one owner always stays; what was changed is on record."""

import threading
from datetime import timedelta

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from inventory.shop.actions import record_changes
from inventory.shop.models import Change
from inventory.shop.roles import Role
from shopparts.changes import GROUPS
from shopparts.models import User
from shopparts.people import change_person, join_path, tokens
from shopparts.workbook.registry import sheets
from tests.make import PASSWORD, make_site, make_user

pytestmark = pytest.mark.django_db
INVITED = {"username": "robin", "first_name": "Robin", "role": "parts_manager"}
CHOSEN = {"new_password1": "quite-another-word-9", "new_password2": "quite-another-word-9"}


@pytest.fixture
def owner(client):
    person = make_user(Role.OWNER, username="ruth", first_name="Ruth")
    client.force_login(person)
    return person


def invite(client, **fields):
    return client.post(reverse("person_list"), INVITED | fields, follow=True)


class TestPersonList:
    def test_names_everybody_with_a_constant_number_of_queries(self, client, owner):
        counts = []
        for _ in range(2):
            make_user(home_site=make_site())
            with CaptureQueriesContext(connection) as queries:
                text = client.get(reverse("person_list")).content.decode()
            counts.append(len(queries))
        assert "3 people" in text
        assert counts[0] == counts[1]

    def test_an_invited_person_gets_an_address_and_no_password(self, client, owner):
        text = invite(client).content.decode()
        robin = User.objects.get(username="robin")
        assert not robin.has_usable_password()
        assert f"http://testserver/join/{robin.pk}/" in text
        change = Change.objects.of(robin).get()
        assert (change.by, change.after["role"]) == (owner, "parts_manager")

    def test_a_name_that_is_taken_is_refused(self, client, owner):
        text = invite(client, username="ruth").content.decode()
        assert "A user with that username already exists." in text


class TestPersonDetail:
    def change(self, client, person, **fields):
        given = {"first_name": "Robin", "role": "technician", "is_active": "on"} | fields
        path = reverse("person_detail", args=[person.pk])
        return client.post(path, {name: said for name, said in given.items() if said}, follow=True)

    def test_a_new_role_is_kept_and_logged(self, client, owner):
        person = make_user(username="robin", first_name="Robin")
        self.change(client, person, role="parts_manager")
        person.refresh_from_db()
        assert person.sees_cost
        change = Change.objects.of(person).get()
        assert (change.before, change.after) == (
            {"role": "technician"},
            {"role": "parts_manager"},
        )
        text = client.get(reverse("person_detail", args=[person.pk])).content.decode()
        assert '<p>Role: <span class="soft">Technician</span> → Parts manager</p>' in text

    def test_saved_unchanged_leaves_no_trace(self, client, owner):
        person = make_user(username="robin", first_name="Robin")
        self.change(client, person)
        assert not Change.objects.exists()

    def test_who_may_not_sign_in_any_more_is_out_at_once(self, client, owner):
        person = make_user(username="robin", first_name="Robin")
        theirs = type(client)()
        theirs.force_login(person)
        assert theirs.get("/").status_code == 200
        self.change(client, person, is_active="")
        assert theirs.get("/").headers["Location"] == "/log-in/?next=/"

    def test_the_last_owner_stays(self, client, owner):
        for fields in ({"role": "technician"}, {"role": "owner", "is_active": ""}):
            text = self.change(client, owner, **fields).content.decode()
            assert "is the only owner who may sign in; make another person an owner first." in text
        owner.refresh_from_db()
        assert owner.is_owner
        assert owner.is_active


class TestChangePerson:
    @pytest.mark.django_db(transaction=True)
    def test_two_owners_cannot_take_the_role_from_one_another_at_once(self):
        both = [make_user(Role.OWNER), make_user(Role.OWNER)]
        start, refused = threading.Barrier(2), []

        def demote(person):
            start.wait()
            try:
                change_person(person, by=None, role=Role.TECHNICIAN)
            except ValidationError as refusal:
                refused.append(refusal)
            finally:
                connection.close()

        threads = [threading.Thread(target=demote, args=[person]) for person in both]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(refused) == 1
        assert User.objects.filter(role=Role.OWNER).count() == 1

    def test_nor_does_a_workbook_take_the_last_one(self):
        owner = make_user(Role.OWNER, username="ruth")
        people = sheets()["People"]
        (row,) = people.rows()
        row |= {"pk": owner.pk, "role": "technician", "home_site": None}
        with pytest.raises(ValidationError) as refused:
            people.save([row], by=None)
        assert refused.value.messages == [
            "Nobody would be left who lets people in; keep one owner who may sign in."
        ]


class TestPersonAddress:
    def test_somebody_who_lost_their_password_gets_an_address(self, client, owner):
        person = make_user(username="robin")
        path = reverse("person_address", args=[person.pk])
        text = client.post(path, follow=True).content.decode()
        assert f"http://testserver/join/{person.pk}/" in text

    def test_nobody_who_may_not_sign_in(self, client, owner):
        person = make_user(username="robin", is_active=False)
        path = reverse("person_address", args=[person.pk])
        text = client.post(path, follow=True).content.decode()
        assert "robin may not sign in; tick that first, then save." in text


class TestJoin:
    def test_a_person_chooses_a_password_and_is_in(self, client):
        person = make_user(username="robin")
        path = join_path(person)
        assert "Choose a password, robin" in client.get(path).content.decode()
        assert client.post(path, CHOSEN).headers["Location"] == "/"
        assert client.get("/").status_code == 200
        client.logout()
        given = {"username": "robin", "password": CHOSEN["new_password1"]}
        assert client.post("/log-in/", given).headers["Location"] == "/"

    def test_an_address_works_once(self, client):
        path = join_path(make_user())
        client.post(path, CHOSEN)
        client.logout()
        assert "This address no longer works" in client.get(path).content.decode()
        assert client.post(path, CHOSEN).status_code == 404

    def test_an_address_dies_after_three_days(self, client, monkeypatch):
        path = join_path(make_user())
        later = timezone.now().replace(tzinfo=None) + timedelta(days=3, minutes=1)
        monkeypatch.setattr(tokens, "_now", lambda: later)
        assert client.get(path).status_code == 404

    @pytest.mark.parametrize("wrong", ["x", "abc-123", "a" * 400])
    def test_a_token_of_somebodys_own_making_is_refused(self, client, wrong):
        person = make_user()
        assert client.get(reverse("join", args=[person.pk, wrong])).status_code == 404

    def test_one_persons_address_is_nobody_elses(self, client):
        path, other = join_path(make_user()), make_user()
        token = path.rstrip("/").split("/")[-1]
        assert client.get(reverse("join", args=[other.pk, token])).status_code == 404

    def test_who_may_not_sign_in_may_not_join(self, client):
        person = make_user(is_active=False)
        assert client.get(join_path(person)).status_code == 404

    def test_a_weak_password_is_refused(self, client):
        weak = {"new_password1": "12345678", "new_password2": "12345678"}
        text = client.post(join_path(make_user()), weak).content.decode()
        assert "This password is too common." in text
        assert PASSWORD not in text


class TestChangeList:
    def test_shows_what_a_word_picks_out(self, client, owner):
        change_person(make_user(username="robin"), by=owner, first_name="Robin")
        text = client.get(reverse("change_list"), {"show": "people"}).content.decode()
        assert "1 change of people" in text
        assert "Person robin" in text
        assert "0 changes of prices" in (
            client.get(reverse("change_list"), {"show": "prices"}).content.decode()
        )

    def test_says_amounts_as_money_and_references_by_name_in_constant_queries(self, client, owner):
        site = make_site(name="Mill Road")
        counts = []
        for number in range(2):
            person = make_user(username=f"robin-{number}")
            change_person(person, by=owner, home_site=site)
            price = {"pack_price_cents": 1950}
            record_changes([(person, "a record", price, {"pack_price_cents": 2050})], by=owner)
            Change.objects.filter(words="a record").update(kind="inventory.Offer")
            with CaptureQueriesContext(connection) as queries:
                text = client.get(reverse("change_list")).content.decode()
            counts.append(len(queries))
        assert '<p>Home site: <span class="soft">blank</span> → Mill Road</p>' in text
        assert '<span class="soft">$19.50</span> → $20.50</p>' in text
        assert counts[0] == counts[1]

    def test_a_record_that_no_program_knows_any_more_is_still_told(self, client, owner):
        Change.objects.create(kind="inventory.Gone", record="1", words="old", after={"size": 3})
        text = client.get(reverse("change_list")).content.decode()
        assert '<p><span class="soft">New:</span> size 3</p>' in text

    def test_every_kind_named_is_a_record(self):
        for kinds in GROUPS.values():
            for kind in kinds:
                assert apps.get_model(kind)
