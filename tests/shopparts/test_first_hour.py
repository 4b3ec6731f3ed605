"""The first hour: each step is read from the records, and the next one leads on."""

from datetime import date

import pytest
from django.urls import reverse

from inventory.reorder.models import PlanRun, PlanStatus
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
from shopparts.first_hour import first_hour
from tests.make import (
    make_application,
    make_bin,
    make_fitment,
    make_offer,
    make_part,
    make_plan_line,
    make_site,
    make_stock,
    make_supplier,
    make_user,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    person = make_user(Role.OWNER, home_site=make_site())
    client.force_login(person)
    return person


def planned():
    return PlanRun.objects.create(as_of=date(2026, 3, 4), status=PlanStatus.DONE)


def set_up(site):
    """Do what each step asks, and say after each which are done."""
    part, supplier = make_part(), make_supplier()
    deeds = (
        lambda: ShopSettings(pk=1, labour_price_cents=9_000, labour_cost_cents=4_500).save(),
        lambda: make_bin(site),
        lambda: make_user(),
        lambda: None,
        lambda: make_fitment(make_application(), part),
        lambda: make_stock(part, site),
        lambda: make_offer(supplier, part),
        lambda: make_plan_line(site, supplier, part=part, run=planned()),
    )
    for deed in deeds:
        deed()
        yield [step.done for step in first_hour().steps]


class TestFirstHourNow:
    def test_every_step_is_done_by_its_records_alone(self, owner):
        part_is_listed = 3
        for number, done in enumerate(set_up(owner.home_site)):
            expected = [place <= number or place == part_is_listed for place in range(8)]
            assert done == expected
        assert first_hour().next_step is None

    def test_a_step_opens_again_when_its_records_go(self, owner):
        part = make_part()
        assert first_hour().steps[3].done
        part.delete()
        assert not first_hour().steps[3].done

    def test_a_plan_of_an_empty_shop_is_no_plan_yet(self, owner):
        planned()
        assert not first_hour().steps[-1].done

    def test_bins_and_people_may_wait(self, owner):
        ShopSettings(pk=1, labour_price_cents=9_000, labour_cost_cents=4_500).save()
        hour = first_hour()
        assert [step.title for step in hour.steps if not step.needed] == [
            "Name sites and bins",
            "Let people in",
        ]
        assert hour.next_step is not None
        assert hour.next_step.title == "List parts"


class TestFirstHour:
    def test_shows_every_step_and_makes_the_next_the_main_one(self, client, owner):
        text = client.get(reverse("first_hour")).content.decode()
        assert "0 of 8 steps to the first plan are done" in text
        assert text.count("button act") == 1
        assert f'class="button act" href="{reverse("shop_settings")}"' in text

    def test_today_names_the_next_step_for_an_owner_only(self, client, owner):
        text = client.get("/").content.decode()
        assert "Next: say how the shop works. What an hour of labour sells at" in text
        assert text.count("button act") == 1
        client.force_login(make_user(Role.PARTS_MANAGER, home_site=owner.home_site))
        assert "First hour" not in client.get("/").content.decode()

    def test_today_says_nothing_more_once_all_is_there(self, client, owner):
        for _ in set_up(owner.home_site):
            pass
        text = client.get("/").content.decode()
        assert "First hour:" not in text
        assert "The shop has what it needs" in client.get(reverse("first_hour")).content.decode()

    def test_saving_the_settings_leads_back_to_it(self, client, owner):
        form = client.get(reverse("shop_settings")).context["form"]
        shown = {name: form[name].value() for name in form.fields}
        sent = {name: value for name, value in shown.items() if value is not None}
        answer = client.post(reverse("shop_settings"), sent)
        assert answer.headers["Location"] == reverse("first_hour")


class TestFirstHourAway:
    def test_is_away_on_this_device_until_it_is_taken_out(self, client, owner):
        client.post(reverse("first_hour_away"))
        assert "First hour:" not in client.get("/").content.decode()
        client.post(reverse("first_hour_away"), {"out": ""})
        assert "First hour:" in client.get("/").content.decode()
