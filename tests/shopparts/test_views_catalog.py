from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.actions.drafts import Seen, draft_application
from inventory.catalog.evidence import contradict_fit
from inventory.catalog.models import Application, Evidence
from inventory.shop.models import Change
from inventory.shop.roles import Role
from jobs.workshop.models import Vehicle
from tests.make import (
    make_application,
    make_fitment,
    make_part,
    make_site,
    make_user,
    make_vehicle,
)

pytestmark = pytest.mark.django_db
MARCH = date(2016, 3, 1)


@pytest.fixture
def manager(client):
    client.force_login(make_user(Role.PARTS_MANAGER, home_site=make_site()))
    return client


def page(client, name, *args, **query):
    return client.get(reverse(name, args=args), query).content.decode()


def send(client, name, record, **fields):
    address = reverse(name, args=[record.pk])
    return client.post(address, {"key": "form-1"} | fields, follow=True).content.decode()


def contradict(application, part, month=None, job="J1"):
    return contradict_fit(
        application, part, reason="not heard", job_key=job, built_month=month, by=None
    )


def facts(client, application):
    """The entry's form as its page shows it, with what it shows kept beside it."""
    form = client.get(reverse("application_edit", args=[application.pk])).context["form"]
    names = [(field, name) for field in form for name in (field.name, field.html_initial_name)]
    shown = {name: field.value() for field, name in names}
    return {name: value for name, value in shown.items() if value not in (None, False)}


class TestCatalogGaps:
    def test_says_when_nothing_is_open(self, manager):
        assert "Nothing is open in the catalogue" in page(manager, "catalog_gaps")

    def test_a_draft_says_who_made_it_and_where_it_is_checked(self, manager):
        person = make_user(username="tova")
        draft = draft_application(
            Seen(band="433"), make="Merow", model="Lista", year=2014, on=MARCH, key="k", by=person
        )
        make_vehicle(draft)
        text = page(manager, "catalog_gaps")
        assert "2 things to settle in the catalogue" in text
        assert "seen on a vehicle, by tova, 1 vehicle served" in text
        assert reverse("application_edit", args=[draft.pk]) in text

    def test_what_did_not_fit_leads_to_what_jobs_taught(self, manager):
        application = make_application()
        contradict(application, make_part(number="P"))
        text = page(manager, "catalog_gaps", show="misfits")
        assert "P on 2013–2016 Merow Lista" in text
        assert "not heard; job J1" in text
        assert f"{reverse('application_edit', args=[application.pk])}#learned" in text

    def test_only_vehicles_that_were_served_miss_a_part(self, manager):
        make_application(model="Never seen")
        make_vehicle(make_application(mounting="clamp_in"))
        text = page(manager, "catalog_gaps", show="roles")
        assert "no sensor and no service kit to offer; 1 vehicle served" in text
        assert "Never seen" not in text

    def test_a_vehicle_without_an_entry_leads_to_the_fit_page(self, manager):
        vehicle = make_vehicle(plate="QX 7", model_year=2014)
        Vehicle.objects.update(application=None)
        text = page(manager, "catalog_gaps", show="vehicles")
        assert "QX 7" in text
        assert f"/fit/?vehicle={vehicle.pk}&amp;year=2014" in text

    def test_parts_that_fit_nothing(self, manager):
        make_part(number="LONELY")
        make_part("core", number="CORE")
        make_fitment(make_application(), make_part(number="LISTED"))
        text = page(manager, "catalog_gaps", show="parts")
        assert "LONELY" in text
        assert "CORE" not in text
        assert "LISTED" not in text

    def test_costs_the_same_for_many(self, manager, django_assert_num_queries):
        for _ in range(2):
            for _ in range(10):
                application = make_application(status="draft")
                make_vehicle(application)
                contradict(application, make_part())
            with django_assert_num_queries(12):
                page(manager, "catalog_gaps", show="roles")


class TestApplicationEdit:
    def test_shows_facts_in_the_units_of_the_shop(self, manager):
        application = make_application(placard_front_kpa=234, built_to=date(2016, 2, 1))
        shown = facts(manager, application)
        assert str(shown["placard_front_kpa"]) == "34.0"
        assert 'value="2016-02"' in page(manager, "application_edit", application.pk)

    def test_saves_what_was_changed_and_nothing_else(self, manager):
        # 230 kPa is 33.4 psi; saved untouched it must not become another number of kPa.
        application = make_application(placard_front_kpa=231, wheel_nut_torque_cnm=11000)
        send(manager, "application_edit", application,
             **facts(manager, application) | {"band": "315", "placard_rear_kpa": "36"})  # fmt: skip
        changes = Change.objects.of(application).get().after
        assert changes == {"band": "315", "placard_rear_kpa": 248}

    def test_what_another_changed_meanwhile_is_not_taken_back(self, manager):
        application = make_application(relearn_steps="Drive.\nStop.")
        page_shown = facts(manager, application)
        Application.objects.update(band="315")
        sent = page_shown | {"hole": "625"}
        for name in ("relearn_steps", "initial-relearn_steps"):
            # As a browser sends lines.
            sent[name] = "Drive.\r\nStop."
        send(manager, "application_edit", application, **sent)
        application.refresh_from_db()
        assert (application.band, application.hole) == ("315", "625")
        assert application.relearn_steps == "Drive.\nStop."

    def test_a_draft_is_checked_by_saving_it_so(self, manager):
        application = make_application(status="draft")
        text = send(
            manager, "application_edit", application, **facts(manager, application), checked="1"
        )
        assert "2013–2016 Merow Lista is saved and checked." in text
        application.refresh_from_db()
        assert application.status == "checked"

    def test_a_refusal_is_said_and_nothing_saved(self, manager):
        application = make_application()
        text = send(
            manager, "application_edit", application,
            **facts(manager, application) | {"year_to": "2001"},
        )  # fmt: skip
        assert "The first model year comes after the last; swap them." in text
        assert "<h1>2013–2016 Merow Lista" in text

    def test_a_month_that_cannot_be_read_stands_beside_its_field(self, manager):
        application = make_application()
        text = send(
            manager, "application_edit", application,
            **facts(manager, application) | {"built_to": "spring"},
        )  # fmt: skip
        assert "Enter a valid date." in text

    def test_costs_the_same_for_many_parts(self, manager, django_assert_num_queries):
        application = make_application()
        for _ in range(2):
            for _ in range(10):
                part = make_part()
                make_fitment(application, part)
                contradict(application, part)
            with django_assert_num_queries(11):
                page(manager, "application_edit", application.pk)


class TestApplicationCopy:
    def test_leads_to_the_draft(self, manager):
        application = make_application()
        text = send(manager, "application_copy", application, year_from="2017", year_to="2018")
        assert "2017–2018 Merow Lista is drafted with the same parts; check what changed." in text
        assert "<h1>2017–2018 Merow Lista" in text

    def test_years_that_are_covered_are_refused(self, manager):
        application = make_application()
        text = send(manager, "application_copy", application, year_from="2016", year_to="2018")
        assert "covers some of these years; edit that one, or choose other years." in text


class TestApplicationSplit:
    def test_vehicles_go_to_their_side(self, manager):
        application = make_application()
        before = make_vehicle(application, built_month=date(2016, 2, 1))
        after = make_vehicle(application, built_month=MARCH)
        unknown = make_vehicle(application)
        for _ in range(2):
            text = send(manager, "application_split", application, month="2016-03")
        assert "Split. This is the later one: now list the parts that differ." in text
        later = Application.objects.get(built_from=MARCH)
        assert set(later.vehicle_set.all()) == {after}
        assert set(application.vehicle_set.all()) == {before, unknown}

    def test_a_month_outside_is_refused(self, manager):
        text = send(manager, "application_split", make_application(), month="2019-03")
        assert "March 2019 lies outside 2013–2016; choose a month inside it." in text


class TestApplicationMoveSplit:
    def halves(self):
        early = make_application(built_to=date(2016, 2, 1))
        return early, make_application(built_from=MARCH)

    def test_what_did_not_fit_leads_there_and_vehicles_follow(self, manager):
        early, late = self.halves()
        november = date(2015, 11, 1)
        vehicle, part = make_vehicle(early, built_month=november), make_part()
        make_fitment(early, part)
        evidence = contradict(early, part, november)
        text = page(manager, "application_edit", early.pk)
        assert "Move the split here" in text
        assert "Explains 1." in text
        text = send(manager, "application_move_split", early, later=late.pk, month="2015-11")
        assert "The split is moved." in text
        for record in (early, late, vehicle, evidence):
            record.refresh_from_db()
        assert (early.built_to, late.built_from) == (date(2015, 10, 1), november)
        assert vehicle.application == late
        assert evidence.settled

    def test_a_refusal_is_said(self, manager):
        early, late = self.halves()
        text = send(manager, "application_move_split", late, later=early.pk, month="2015-11")
        assert "do not meet at a month; edit each of them." in text
        text = send(manager, "application_move_split", early, later=late.pk, month="soon")
        assert "Choose the month again; this one could not be read." in text


class TestApplicationMerge:
    def test_vehicles_go_over(self, manager):
        draft, whole = make_application(year_to=2014, status="draft"), make_application()
        vehicle = make_vehicle(draft)
        text = send(manager, "application_merge", draft, into=whole.pk)
        assert "Merged into 2013–2016 Merow Lista." in text
        vehicle.refresh_from_db()
        assert vehicle.application == whole
        assert Change.objects.of(vehicle).count() == 1

    def test_a_refusal_changes_nothing(self, manager):
        draft, other = make_application(), make_application(band="315")
        vehicle = make_vehicle(draft)
        text = send(manager, "application_merge", draft, into=other.pk)
        assert "The two differ in band; correct the wrong one first, or keep both." in text
        vehicle.refresh_from_db()
        assert vehicle.application == draft

    def test_only_the_same_model_is_offered(self, manager):
        other = make_application(model="Tour")
        text = send(manager, "application_merge", make_application(), into=other.pk)
        assert "Select a valid choice." in text


class TestApplicationDrop:
    def test_leads_back_to_what_is_open(self, manager):
        text = send(manager, "application_drop", make_application())
        assert "2013–2016 Merow Lista is dropped." in text
        assert not Application.objects.exists()

    def test_refuses_while_vehicles_are_written_down_as_it(self, manager):
        application = make_application()
        make_vehicle(application)
        text = send(manager, "application_drop", application)
        assert (
            "1 vehicle is written down as 2013–2016 Merow Lista; merge it into another instead."
            in text
        )


class TestFitmentAdd:
    def test_lists_a_part_by_any_code(self, manager):
        application, part = make_application(), make_part(number="AB-12")
        text = send(
            manager, "fitment_add", application, part="ab 12", axle="rear", rank="2", quantity="1"
        )
        assert "AB-12 on 2013–2016 Merow Lista is listed." in text
        assert list(application.fitments.values_list("part", "axle", "rank")) == [
            (part.pk, "rear", 2)
        ]

    def test_an_unknown_code_is_said(self, manager):
        text = send(
            manager, "fitment_add", make_application(), part="x", axle="all", rank="1", quantity="1"
        )
        assert "No part has the code “x”; check it or search by words." in text


class TestFitmentDrop:
    def test_takes_it_off(self, manager):
        fitment = make_fitment(make_application(), make_part(number="P"))
        assert "P is offered here no more." in send(manager, "fitment_drop", fitment)
        assert not fitment.application.fitments.exists()


class TestEvidenceSettle:
    def test_it_stays_listed_and_warns_no_more(self, manager):
        evidence = contradict(make_application(), make_part(number="P"))
        text = send(manager, "evidence_settle", evidence)
        assert "P stays listed; job J1 warns no more." in text
        assert not Evidence.objects.contradictions().exists()


NEW = {
    "make": "Merow",
    "model": "Lista",
    "year_from": "2013",
    "year_to": "2016",
    "system": "direct",
    "band": "433",
    "construction": "unknown",
    "sensors": "4",
    "placard_front_kpa": "35",
}


class TestApplicationNew:
    def add(self, manager, **fields):
        return manager.post(reverse("application_new"), NEW | fields, follow=True)

    def test_is_listed_under_a_key_of_its_own_and_leads_to_its_parts(self, manager):
        answer = self.add(manager)
        entry = Application.objects.get()
        # 35 psi is 241.3 kPa by NIST SP 811 B.8.
        assert (entry.key, entry.status, entry.placard_front_kpa) == (
            "MEROW-LISTA-2013",
            "checked",
            241,
        )
        address = f"{reverse('application_edit', args=[entry.pk])}#parts"
        assert answer.redirect_chain[-1][0] == address

    def test_shows_among_the_makes_at_once(self, manager):
        assert "No vehicle is listed yet" in page(manager, "fit")
        self.add(manager)
        assert "?make=Merow" in page(manager, "fit")

    def test_refuses_years_that_another_covers(self, manager):
        make_application(make="Merow", model="Lista", year_from=2016, year_to=2019)
        text = self.add(manager).content.decode()
        assert (
            "2016–2019 Merow Lista covers some of these years; change that one, or write trim, "
            "wheel or months that tell the two apart." in text
        )

    def test_makes_another_key_where_that_is_taken(self, manager):
        make_application(key="MEROW-LISTA-2013", make="Merow", model="Vasto")
        self.add(manager)
        assert Application.objects.filter(key="MEROW-LISTA-2013-2").exists()
