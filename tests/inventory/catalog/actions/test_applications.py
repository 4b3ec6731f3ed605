from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.actions.applications import (
    copy_application,
    drop_application,
    edit_application,
    merge_application,
    move_split,
    split_application,
)
from inventory.catalog.evidence import confirm_fit, contradict_fit, learn_vin_pattern
from inventory.catalog.models import Application, Evidence, VinPattern
from inventory.catalog.spans import span_text
from inventory.shop.models import Change
from tests.make import make_application, make_fitment, make_part, make_user

pytestmark = pytest.mark.django_db
MARCH = date(2016, 3, 1)


def refused(action, *args, **kwargs):
    with pytest.raises(ValidationError) as refusal:
        action(*args, by=None, **kwargs)
    return refusal.value.messages


def contradict(application, part, month, job="J1"):
    return contradict_fit(
        application, part, reason="not heard", job_key=job, built_month=month, by=None
    )


class TestEditApplication:
    def test_changes_what_differs_and_logs_that_alone(self):
        application, person = make_application(status="draft"), make_user()
        edit_application(application, to={"band": "315", "hole": "453"}, checked=True, by=person)
        application.refresh_from_db()
        assert (application.band, application.status) == ("315", "checked")
        change = Change.objects.of(application).get()
        assert change.before == {"band": "433", "status": "draft"}
        assert change.after == {"band": "315", "status": "checked"}
        assert change.by == person

    def test_the_same_again_writes_nothing(self):
        edit_application(make_application(), to={"band": "433"}, by=None)
        assert not Change.objects.exists()

    def test_is_found_by_its_new_name(self):
        application = edit_application(make_application(), to={"model": "Tour"}, by=None)
        assert application.search_key == "MEROWTOUR"

    def test_refuses_years_the_wrong_way_round(self):
        assert refused(edit_application, make_application(), to={"year_to": 2001}) == [
            "The first model year comes after the last; swap them."
        ]


class TestCopyApplication:
    def test_is_a_draft_with_the_same_facts_and_parts(self):
        application = make_application(built_to=date(2016, 2, 1), trim="Cargo")
        make_fitment(application, make_part(number="P"), rank=3)
        copy = copy_application(application, year_from=2017, year_to=2018, key="k", by=None)
        assert (copy.status, copy.band, copy.trim, span_text(copy)) == (
            "draft",
            "433",
            "Cargo",
            "2017–2018",
        )
        assert list(copy.fitments.values_list("part__number", "rank")) == [("P", 3)]
        assert copy.source == "copied from 2013–2016"
        application.refresh_from_db()
        assert application.year_to == 2016

    def test_one_key_copies_once(self):
        application = make_application()
        for _ in range(2):
            copy_application(application, year_from=2017, year_to=2018, key="k", by=None)
        assert Application.objects.count() == 2

    def test_refuses_years_that_are_covered(self):
        application = make_application()
        assert refused(copy_application, application, year_from=2016, year_to=2018, key="k") == [
            "2013–2016 Merow Lista covers some of these years; edit that one, "
            "or choose other years."
        ]

    def test_another_trim_covers_nothing_of_this(self):
        make_application(year_from=2017, year_to=2020, trim="GT")
        copy_application(make_application(), year_from=2017, year_to=2018, key="k", by=None)


class TestSplitApplication:
    def test_parts_it_at_the_month_and_both_keep_the_parts(self):
        application = make_application()
        make_fitment(application, make_part(number="P"))
        later = split_application(application, month=MARCH, key="k", by=None)
        # Built by February 2016: at most model year 2017; from March 2016: at least 2016.
        assert span_text(application) == "2013–2016, built to February 2016"
        assert span_text(later) == "2016, built from March 2016"
        assert [f.part.number for f in later.fitments.all()] == ["P"]
        assert Change.objects.of(application).get().after == {"built_to": "2016-02-01"}

    def test_what_was_learned_goes_to_its_side(self):
        application, part = make_application(), make_part()
        for month, job in ((date(2016, 2, 1), "J1"), (MARCH, "J2"), (None, "J3")):
            confirm_fit(application, [part], job_key=job, built_month=month, by=None)
        for year in (2014, 2016):
            learn_vin_pattern(application, vin="ZZZAB1C29J1000117", year=year)
        later = split_application(application, month=MARCH, key="k", by=None)
        assert set(later.evidence.values_list("job_key", flat=True)) == {"J2"}
        assert set(application.evidence.values_list("job_key", flat=True)) == {"J1", "J3"}
        assert set(later.vin_patterns.values_list("year", flat=True)) == {2016}
        assert set(application.vin_patterns.values_list("year", flat=True)) == {2014, 2016}

    def test_one_key_splits_once(self):
        application = make_application()
        first, second = (
            split_application(application, month=MARCH, key="k", by=None) for _ in range(2)
        )
        assert first == second

    @pytest.mark.parametrize("month", [date(2011, 3, 1), date(2017, 3, 1)])
    def test_refuses_a_month_outside_its_years(self, month):
        (sentence,) = refused(split_application, make_application(), month=month, key="k")
        assert sentence.endswith("lies outside 2013–2016; choose a month inside it.")

    def test_refuses_a_month_outside_its_span_of_building(self):
        application = make_application(built_to=date(2016, 2, 1))
        assert refused(split_application, application, month=MARCH, key="k") == [
            "March 2016 lies outside 2013–2016, built to February 2016; choose a month inside it."
        ]


class TestMoveSplit:
    def halves(self):
        early = make_application(built_to=date(2016, 2, 1))
        return early, make_application(year_from=2016, year_to=2018, built_from=MARCH)

    def test_moves_the_month_at_which_they_meet(self):
        early, late = self.halves()
        move_split(early, late, month=date(2015, 11, 1), by=None)
        assert span_text(early) == "2013–2016, built to October 2015"
        assert span_text(late) == "2015–2018, built from November 2015"
        move_split(early, late, month=date(2017, 5, 1), by=None)
        assert span_text(early) == "2013–2018, built to April 2017"
        assert span_text(late) == "2015–2018, built from May 2017"

    def test_what_did_not_fit_between_is_decided_and_what_answered_goes_over(self):
        early, late = self.halves()
        wrong, right = make_part(), make_part()
        december, october = date(2015, 12, 1), date(2015, 10, 1)
        between = contradict(early, wrong, december)
        before = contradict(early, wrong, october, job="J2")
        confirm_fit(early, [right], job_key="J1", built_month=december, by=None)
        move_split(early, late, month=date(2015, 11, 1), by=None)
        between.refresh_from_db()
        before.refresh_from_db()
        assert (between.settled, before.settled) == (True, False)
        assert [one.part for one in late.evidence.all()] == [right]

    def test_refuses_two_that_do_not_meet(self):
        early, late = self.halves()
        assert refused(move_split, late, early, month=MARCH) == [
            "2016–2018 Merow Lista and 2013–2016 Merow Lista do not meet at a month; "
            "edit each of them."
        ]

    def test_refuses_a_month_beyond_both(self):
        early = make_application(built_from=date(2015, 1, 1), built_to=date(2016, 2, 1))
        late = make_application(built_from=MARCH)
        assert refused(move_split, early, late, month=date(2015, 1, 1)) == [
            "January 2015 lies outside both; choose a month inside one of them."
        ]


class TestMergeApplication:
    def test_what_was_learned_goes_over_and_the_parts_stay_as_they_are(self):
        draft, whole = make_application(year_to=2014, status="draft"), make_application()
        part = make_part()
        make_fitment(draft, part)
        confirm_fit(draft, [part], job_key="J1", by=None)
        confirm_fit(draft, [part], job_key="J2", by=None)
        confirm_fit(whole, [part], job_key="J2", by=None)
        for application in (draft, whole):
            learn_vin_pattern(application, vin="ZZZAB1C29J1000117", year=2014)
        learn_vin_pattern(draft, vin="ZZZAB1C39J1000117", year=2014)
        merge_application(draft, into=whole, by=None)
        assert list(Application.objects.all()) == [whole]
        assert whole.fitments.count() == 0
        assert sorted(Evidence.objects.values_list("job_key", flat=True)) == ["J1", "J2"]
        assert sorted(VinPattern.objects.values_list("start", "vehicles")) == [
            ("ZZZAB1C2", 2),
            ("ZZZAB1C3", 1),
        ]

    def test_takes_its_parts_along_where_asked(self):
        draft, whole, part = make_application(), make_application(), make_part()
        make_fitment(draft, part, rank=4)
        make_fitment(draft, make_part(), rank=5)
        make_fitment(whole, part, rank=1)
        merge_application(draft, into=whole, with_parts=True, by=None)
        assert sorted(whole.fitments.values_list("rank", flat=True)) == [1, 5]

    def test_the_log_says_what_became_of_it(self):
        draft, whole = make_application(band="433"), make_application()
        pk = draft.pk
        merge_application(draft, into=whole, by=None)
        change = Change.objects.get(kind="inventory.Application", record=str(pk))
        assert change.before["band"] == "433"
        assert change.after == {"merged_into": whole.key, "with_parts": False}

    @pytest.mark.parametrize(
        ("fields", "sentence"),
        [
            ({"band": "315"}, "The two differ in band; correct the wrong one first, or keep both."),
            ({"model": "Tour"}, "is another model; correct make and model of one first."),
            ({"year_to": 2015}, "reaches outside 2013–2015; widen the years of that one first."),
        ],
    )
    def test_refuses_what_is_not_one_vehicle(self, fields, sentence):
        (said,) = refused(merge_application, make_application(), into=make_application(**fields))
        assert said.endswith(sentence)

    def test_refuses_itself(self):
        application = make_application()
        assert refused(merge_application, application, into=application) == [
            "An entry cannot be merged into itself; choose another."
        ]


class TestDropApplication:
    def test_the_log_keeps_what_it_said(self):
        application = make_application()
        make_fitment(application, make_part(number="P"))
        pk = application.pk
        drop_application(application, by=None)
        assert not Application.objects.exists()
        change = Change.objects.get(kind="inventory.Application", record=str(pk))
        assert change.before["model"] == "Lista"
        assert change.after == {"parts": "P"}
