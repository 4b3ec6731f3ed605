import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.actions.fitments import (
    end_supersession,
    list_part,
    settle_contradiction,
    supersede_part,
    unlist_part,
)
from inventory.catalog.evidence import contradict_fit
from inventory.catalog.inputs import evidence_counts, possible_fits
from inventory.catalog.models import Supersession
from inventory.shop.models import Change
from tests.make import make_application, make_part, make_user

pytestmark = pytest.mark.django_db


def contradict(application, part):
    return contradict_fit(application, part, reason="not heard", job_key="J1", by=None)


class TestListPart:
    def test_is_offered_and_logged(self):
        application, part, person = make_application(), make_part(number="P"), make_user()
        fitment = list_part(application, part, rank=2, prepared_as=" M2 ", by=person)
        (possible,) = possible_fits([application])
        assert [c.number for c in possible.candidates] == ["P"]
        change = Change.objects.of(fitment).get()
        assert (change.words, change.by) == ("P on 2013–2016 Merow Lista", person)
        assert (change.after["rank"], change.after["prepared_as"]) == (2, "M2")

    def test_listed_again_it_takes_the_new_values(self):
        application, part = make_application(), make_part()
        for rank in (1, 3):
            list_part(application, part, rank=rank, by=None)
        assert list(application.fitments.values_list("rank", flat=True)) == [3]
        assert Change.objects.latest("pk").before == {"rank": 1}

    def test_refuses_none_a_wheel(self):
        with pytest.raises(ValidationError) as refusal:
            list_part(make_application(), make_part(), quantity=0, by=None)
        assert "Ensure this value is greater than or equal to 1." in refusal.value.messages


class TestUnlistPart:
    def test_is_offered_no_more_and_decides_what_did_not_fit(self):
        application, part = make_application(), make_part()
        front = list_part(application, part, axle="front", by=None)
        rear = list_part(application, part, axle="rear", by=None)
        evidence = contradict(application, part)
        unlist_part(front, by=None)
        evidence.refresh_from_db()
        assert not evidence.settled
        unlist_part(rear, by=None)
        evidence.refresh_from_db()
        assert evidence.settled
        assert not application.fitments.exists()


class TestSettleContradiction:
    def test_warns_no_more(self):
        application, part = make_application(), make_part()
        evidence = contradict(application, part)
        assert evidence_counts([application]) == {part.pk: (0, 1)}
        settle_contradiction(evidence, by=None)
        assert evidence_counts([application]) == {part.pk: (0, 0)}
        assert Change.objects.of(evidence).get().after == {"settled": True}


class TestSupersedePart:
    def test_the_new_one_is_offered_where_the_old_is_listed(self):
        application, old, new = make_application(), make_part(), make_part(number="NEW")
        list_part(application, old, by=None)
        supersede_part(old, new, note="same body", by=None)
        (possible,) = possible_fits([application])
        assert "NEW" in [c.number for c in possible.candidates]

    def test_said_again_it_takes_the_new_values(self):
        old, new = make_part(), make_part()
        for both in (False, True):
            supersede_part(old, new, both_ways=both, by=None)
        assert Supersession.objects.get().both_ways

    def test_refuses_another_kind(self):
        old, new = make_part(number="OLD"), make_part("kit", number="NEW")
        with pytest.raises(ValidationError) as refusal:
            supersede_part(old, new, by=None)
        assert refusal.value.messages == [
            "NEW is a service kit and OLD a sensor assembly; only like replaces like."
        ]

    def test_refuses_to_go_round_in_a_circle(self):
        old, new = make_part(number="OLD"), make_part(number="NEW")
        supersede_part(old, new, by=None)
        with pytest.raises(ValidationError) as refusal:
            supersede_part(new, old, by=None)
        assert refusal.value.messages == ["NEW supersedes OLD already; end that first."]

    def test_refuses_itself(self):
        part = make_part()
        with pytest.raises(ValidationError) as refusal:
            supersede_part(part, part, by=None)
        assert refusal.value.messages == ["A part cannot supersede itself."]


class TestEndSupersession:
    def test_leaves_its_line_in_the_log(self):
        old, new = make_part(number="OLD"), make_part(number="NEW")
        end_supersession(supersede_part(old, new, by=None), by=None)
        assert not Supersession.objects.exists()
        assert Change.objects.latest("pk").words == "OLD no longer superseded by NEW"
