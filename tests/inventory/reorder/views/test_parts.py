"""A part, what it fits and what it costs, written by hand: a shop without a workbook."""

import pytest
from django.urls import reverse

from inventory.catalog.actions.kept import facts_of
from inventory.catalog.models import Fitment, Part, PartCode
from inventory.shop.models import Change, ShopSettings
from inventory.shop.roles import Role
from tests.make import make_application, make_fitment, make_part, make_site, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    person = make_user(Role.PARTS_MANAGER, home_site=make_site())
    client.force_login(person)
    return person


def typed(**fields):
    """The least that a sensor body needs, and these fields."""
    least = {
        "number": "EX-100",
        "kind": "body",
        "band_433": "on",
        "construction": "unknown",
        "preparation": "ready",
        "preparation_minutes": "0",
        "new_id": "new",
        "counted": "each",
    }
    return least | fields


def add(client, **fields):
    return client.post(reverse("inventory:part_new"), typed(**fields), follow=True)


class TestPartNew:
    def test_is_listed_with_its_codes_and_what_it_fits(self, client, manager):
        application = make_application(make="Merow", model="Lista", year_from=2013, year_to=2016)
        answer = add(
            client,
            code_vehicle_maker="VM 1, VM-2",
            code_gtin="6291041500213",
            fits="2014 merow lista\r\n",
            list_price_cents="42.50",
            rated_pressure_kpa="65",
            valve_nut_torque_cnm="8",
        )
        part = Part.objects.get()
        assert answer.redirect_chain[-1][0] == reverse("inventory:part_detail", args=[part.pk])
        # 65 psi is 448.2 kPa by NIST SP 811 B.8; 8 N·m is 800 cN·m.
        kept = (part.list_price_cents, part.rated_pressure_kpa, part.valve_nut_torque_cnm)
        assert kept == (4_250, 448, 800)
        codes = set(PartCode.objects.values_list("kind", "code"))
        assert codes == {
            ("vehicle_maker", "VM 1"),
            ("vehicle_maker", "VM-2"),
            ("gtin", "6291041500213"),
        }
        assert Fitment.objects.get().application == application
        assert "Put what you have of it on the shelf." in answer.content.decode()

    def test_takes_the_number_that_was_looked_for(self, client, manager):
        page = client.get(reverse("inventory:part_new") + "?number=EX-7")
        assert page.context["form"]["number"].value() == "EX-7"

    def test_refuses_a_number_that_is_listed_however_it_is_spelt(self, client, manager):
        make_part(number="ex 100", words="two-piece body")
        text = add(client).content.decode()
        assert "ex 100 two-piece body is listed already; change that one." in text
        assert Part.objects.count() == 1

    def test_refuses_a_sensor_without_a_band(self, client, manager):
        text = add(client, band_433="").content.decode()
        assert "A sensor body or assembly needs at least one radio band." in text

    def test_names_the_entries_where_the_words_name_several(self, client, manager):
        make_application(key="LISTA-A", year_from=2013, year_to=2016)
        make_application(key="LISTA-B", year_from=2017, year_to=2019)
        text = add(client, fits="Merow Lista").content.decode()
        assert (
            "“Merow Lista” names several entries; write one key: "
            "LISTA-A (2013–2016), LISTA-B (2017–2019)." in text
        )
        assert not Part.objects.exists()

    def test_adds_nothing_where_an_entry_is_not_there(self, client, manager):
        text = add(client, fits="2014 vasto").content.decode()
        assert "No entry is named “2014 vasto”; write year, make and model" in text
        assert not Part.objects.exists()

    def test_a_code_of_another_part_that_is_one_of_a_kind_is_refused(self, client, manager):
        PartCode.objects.create(
            part=make_part(), kind="gtin", code="6291041500213", code_key="6291041500213"
        )
        text = add(client, code_gtin="6291041500213").content.decode()
        assert "Another part has this GTIN or label; check the code." in text
        assert Part.objects.count() == 1


class TestPartChange:
    def test_saving_what_is_shown_changes_nothing(self, client, manager):
        ShopSettings(pk=1, pressure_unit="psi").save()
        part = make_part(rated_pressure_kpa=448, list_price_cents=4_250, valve_nut_torque_cnm=812)
        before = facts_of(part)
        path = reverse("inventory:part_change", args=[part.pk])
        form = client.get(path).context["form"]
        shown = {name: form[name].value() for name in form.fields}
        client.post(path, {name: value for name, value in shown.items() if value not in {None, 0}})
        part.refresh_from_db()
        assert facts_of(part) == before | {"preparation_minutes": 0}

    def test_codes_written_and_left_out_are_added_and_dropped(self, client, manager):
        part = make_part("body", number="EX-100")
        for code in ("OLD-1", "KEPT-2"):
            PartCode.objects.create(
                part=part, kind="printed", code=code, code_key=code.replace("-", "")
            )
        path = reverse("inventory:part_change", args=[part.pk])
        client.post(path, typed(code_printed="kept 2, NEW-3", maker="Sample"))
        assert set(part.codes.values_list("code", flat=True)) == {"KEPT-2", "NEW-3"}
        told = set(Change.objects.values_list("words", flat=True))
        assert told == {
            "part EX-100",
            "EX-100 no longer known as OLD-1",
            "code of EX-100",
        }


class TestPartFits:
    def test_lists_the_part_on_one_more_entry(self, client, manager):
        part, application = make_part(), make_application(key="LISTA-A")
        said = {"application": "lista-a", "axle": "front", "rank": "2", "quantity": "1"}
        client.post(reverse("inventory:part_fits", args=[part.pk]), said)
        fitment = Fitment.objects.get()
        assert (fitment.application, fitment.axle, fitment.rank) == (application, "front", 2)

    def test_shows_where_it_is_listed(self, client, manager):
        part = make_part()
        make_fitment(make_application(key="LISTA-A"), part)
        text = client.get(reverse("inventory:part_fits", args=[part.pk])).content.decode()
        assert "is listed on 1 entry" in text
        assert "LISTA-A" in text
