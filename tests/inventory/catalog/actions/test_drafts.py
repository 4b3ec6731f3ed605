from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.actions.drafts import Seen, draft_application
from inventory.catalog.models import Application, MadeOf, PartCode
from inventory.shop.models import Change
from tests.make import make_application, make_part, make_user

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 4)


def draft(seen=None, **fields):
    given: dict[str, Any] = {
        "make": "Merow",
        "model": "Lista",
        "year": 2014,
        "key": "k1",
        "by": None,
    }
    return draft_application(
        seen or Seen(band="433", mounting="clamp_in"), on=TODAY, **given | fields
    )


def ranks(application):
    return dict(application.fitments.values_list("part__number", "rank"))


class TestDraftApplication:
    def test_stands_as_a_draft_with_what_was_seen(self):
        application = draft(Seen(band="315", mounting="snap_in", hole="453"), printed_code="X 7")
        assert list(Application.objects.drafts()) == [application]
        assert (application.year_from, application.year_to) == (2014, 2014)
        assert (application.band, application.mounting, application.hole) == (
            "315",
            "snap_in",
            "453",
        )
        assert application.source == "seen on a vehicle; printed on the old part: X 7"
        assert application.source_date == TODAY

    def test_is_in_the_log_of_changes(self):
        person = make_user()
        change = Change.objects.of(draft(by=person)).get()
        assert change.words == "draft 2014 Merow Lista from what was seen"
        assert (change.by, change.before, change.after["band"]) == (person, {}, "433")

    def test_one_key_drafts_once(self):
        assert draft() == draft(model="Another")
        assert Application.objects.count() == 1

    def test_takes_the_spelling_that_is_listed(self):
        make_application(make="Mérow", model="Lista-X")
        application = draft(make="mérow ", model="lista x")
        assert (application.make, application.model) == ("Mérow", "Lista-X")

    def test_does_not_take_a_name_that_only_begins_alike(self):
        make_application(make="Merow", model="Lista Van")
        assert draft(model="lista").model == "lista"

    def test_a_printed_code_comes_before_what_is_only_alike(self):
        named, universal = make_part(number="NAMED"), make_part(number="UNI", universal=True)
        PartCode.objects.create(part=named, kind="printed", code="AB-12", code_key="AB12")
        assert universal.universal
        assert ranks(draft(printed_code="ab 12")) == {"NAMED": 1, "UNI": 2}

    def test_a_named_assembly_brings_what_it_is_made_of(self):
        whole, kit = make_part(number="WHOLE"), make_part("kit", number="KIT")
        MadeOf.objects.create(whole=whole, piece=kit)
        assert ranks(draft(printed_code="WHOLE")) == {"WHOLE": 1, "KIT": 1}

    def test_a_universal_sensor_must_agree_with_all_that_was_seen(self):
        make_part(number="FITS", universal=True, mounting="clamp_in", hole="453")
        make_part(number="OPEN", universal=True)
        make_part(number="BAND", universal=True, band_433=False, band_315=True)
        make_part(number="MOUNTING", universal=True, mounting="snap_in")
        make_part(number="HOLE", universal=True, mounting="clamp_in", hole="625")
        make_part(number="OWN", universal=False)
        make_part("stem", number="STEM", universal=True, mounting="clamp_in")
        seen = Seen(band="433", mounting="clamp_in", hole="453")
        assert ranks(draft(seen)) == {"FITS": 2, "OPEN": 2}

    def test_a_band_not_heard_proposes_no_sensor(self):
        make_part(universal=True)
        assert ranks(draft(Seen(mounting="clamp_in"))) == {}

    def test_an_indirect_system_proposes_plain_valves_for_its_hole(self):
        make_part("plain_valve", number="SMALL", hole="453")
        make_part("plain_valve", number="LARGE", hole="625")
        make_part("plain_valve", number="ANY")
        assert ranks(draft(Seen(system="indirect", hole="453"))) == {"SMALL": 2}
        assert ranks(draft(Seen(system="indirect"), key="k2")) == {}

    def test_refuses_a_band_where_there_is_no_sensor(self):
        with pytest.raises(ValidationError) as refusal:
            draft(Seen(system="indirect", band="433"))
        assert refusal.value.messages == [
            "An indirect system has no sensor in the wheel; leave the band blank."
        ]
