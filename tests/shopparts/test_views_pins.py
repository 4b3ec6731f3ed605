"""A shared tablet: a PIN opens only where the same person has logged in with the password."""

import pytest
from django.urls import reverse

from inventory.shop.roles import Role
from shopparts.pins import COOKIE, set_pin
from tests.make import PASSWORD, make_user

pytestmark = pytest.mark.django_db
PIN, WRONG = "4711", "9034"


def person_with_pin(name, role=Role.TECHNICIAN):
    person = make_user(role, username=name)
    set_pin(person, PIN)
    return person


def log_in(client, name, password=PASSWORD):
    return client.post(reverse("log_in"), {"username": name, "password": password})


def switch(client, person, pin=PIN):
    return client.post(reverse("switch_person"), {"person": person.pk, "pin": pin})


def who(client):
    return client.session.get("_auth_user_id")


@pytest.fixture
def both(client):
    """Two people who have logged in with their passwords on this tablet, the second one last."""
    people = [person_with_pin("ada"), person_with_pin("ben")]
    for person in people:
        client.post(reverse("log_out"))
        log_in(client, person.username)
    return people


class TestSwitchPerson:
    def test_the_other_takes_over_and_the_tablet_knows_it(self, client, both):
        ada, ben = both
        assert who(client) == str(ben.pk)
        text = client.get(reverse("switch_person")).content.decode()
        assert "ada</label>" in text
        assert switch(client, ada).headers["Location"] == "/"
        assert who(client) == str(ada.pk)
        assert 0 < client.session.get_expiry_age() <= 12 * 3600

    def test_works_after_everybody_has_logged_out(self, client, both):
        client.post(reverse("log_out"))
        assert "Take over with a PIN" in client.get(reverse("log_in")).content.decode()
        switch(client, both[0])
        assert who(client) == str(both[0].pk)

    def test_a_wrong_pin_opens_nothing(self, client, both):
        client.post(reverse("log_out"))
        text = switch(client, both[0], WRONG).content.decode()
        assert "This is not the PIN of this person." in text
        assert who(client) is None

    def test_on_a_tablet_of_somebody_else_the_right_pin_opens_nothing(self, client, both):
        stranger = person_with_pin("cleo")
        client.post(reverse("log_out"))
        switch(client, stranger)
        assert who(client) is None

    def test_after_five_wrong_ones_only_the_password_opens_and_the_pin_is_gone(self, client, both):
        ada = both[0]
        client.post(reverse("log_out"))
        for _ in range(4):
            assert switch(client, ada, WRONG).status_code == 200
        assert switch(client, ada, WRONG).status_code == 429
        ada.refresh_from_db()
        assert ada.pin == ""
        switch(client, ada)
        assert who(client) is None

    def test_a_new_password_needs_a_full_log_in_again(self, client, both):
        ada = both[0]
        ada.set_password("quite-another-word-9")
        ada.save()
        client.post(reverse("log_out"))
        switch(client, ada)
        assert who(client) is None

    def test_who_may_not_sign_in_any_more_does_not(self, client, both):
        ada = both[0]
        ada.is_active = False
        ada.save()
        switch(client, ada)
        assert who(client) != str(ada.pk)

    def test_an_owner_never_opens_by_pin(self, client):
        owner = person_with_pin("ruth", Role.OWNER)
        log_in(client, "ruth")
        client.post(reverse("log_out"))
        switch(client, owner)
        assert who(client) is None

    def test_a_list_of_somebodys_own_making_is_no_list(self, client):
        ada = person_with_pin("ada")
        client.cookies[COOKIE] = f'{{"{ada.pk}": "x"}}:forged:signature'
        text = client.get(reverse("switch_person")).content.decode()
        assert "Nobody can switch by PIN here yet" in text
        switch(client, ada)
        assert who(client) is None

    def test_a_pin_is_no_password(self, client):
        person_with_pin("ada")
        log_in(client, "ada", PIN)
        assert who(client) is None


class TestChangePin:
    def set(self, client, pin, password=PASSWORD):
        given = {"password": password, "pin": pin}
        return client.post(reverse("change_pin"), given).content.decode()

    def test_is_kept_hashed(self, client):
        person = make_user(username="ada")
        client.force_login(person)
        self.set(client, PIN)
        person.refresh_from_db()
        assert person.pin
        assert PIN not in person.pin

    def test_an_empty_one_takes_it_away(self, client):
        person = person_with_pin("ada")
        client.force_login(person)
        self.set(client, "")
        person.refresh_from_db()
        assert person.pin == ""

    @pytest.mark.parametrize("easy", ["0000", "1234", "87654321"])
    def test_an_easy_one_is_refused(self, client, easy):
        client.force_login(make_user())
        said = "This PIN is easily guessed; choose one that is no row of digits."
        assert said in self.set(client, easy)

    @pytest.mark.parametrize("odd", ["123", "12a4", "١٢٣٥"])
    def test_digits_only(self, client, odd):
        client.force_login(make_user())
        assert "A PIN has 4 to 8 digits." in self.set(client, odd)

    def test_needs_the_password(self, client):
        person = make_user()
        client.force_login(person)
        assert "This is not your present password." in self.set(client, PIN, "wrong")
        person.refresh_from_db()
        assert person.pin == ""
