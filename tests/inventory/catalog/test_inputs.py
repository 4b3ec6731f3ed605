"""Random catalogues put through the whole road: questions, answers, offer.

The rules that may never be broken are `wrong` of test_fit, written apart from the code.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.catalog.fit import Candidate, Findings
from inventory.catalog.inputs import (
    Possible,
    entries,
    need_of,
    possible_fits,
    traits_of,
    traits_to_ask,
)
from inventory.catalog.models import (
    Application,
    MadeOf,
    Mounting,
    Part,
    PartKind,
    Supersession,
)
from inventory.catalog.question import best_question, remaining
from tests.inventory.catalog.test_fit import findings, wrong
from tests.make import make_application, make_fitment, make_part

months = st.dates(date(2012, 1, 1), date(2018, 12, 1)).map(lambda day: day.replace(day=1))
kpa = st.none() | st.integers(150, 800)
parts = st.lists(
    st.builds(
        Part,
        pk=st.integers(1, 10**9),
        number=st.text("ABC", min_size=1, max_size=3),
        kind=st.sampled_from(PartKind.values),
        band_315=st.booleans(),
        band_433=st.booleans(),
        mounting=st.sampled_from(["", *Mounting.values]),
        hole=st.sampled_from(["", "453", "625"]),
        rated_pressure_kpa=kpa,
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda part: part.pk,
)
applications = st.lists(
    st.builds(
        Application,
        pk=st.integers(1, 10**9),
        year_from=st.integers(2012, 2014),
        year_to=st.integers(2015, 2018),
        built_from=st.none() | months,
        built_to=st.none() | months,
        trim=st.sampled_from(["", "LX", "GT"]),
        wheel=st.sampled_from(["", "Steel", "Alloy"]),
        system=st.sampled_from(["direct", "indirect"]),
        band=st.sampled_from(["", "315", "433"]),
        mounting=st.sampled_from(["", *Mounting.values]),
        hole=st.sampled_from(["", "453", "625"]),
        construction=st.sampled_from(["one_piece", "two_piece", "unknown"]),
        placard_front_kpa=kpa,
        placard_rear_kpa=kpa,
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda application: application.pk,
)


def candidate_of(part):
    return Candidate(
        pk=part.pk,
        number=part.number,
        kind=part.kind,
        bands=frozenset(part.bands),
        mounting=part.mounting,
        hole=part.hole,
        rated_pressure_kpa=part.rated_pressure_kpa,
    )


class TestAnySequenceOfAnswers:
    @given(applications, parts, findings, st.data())
    def test_never_offers_what_must_not_be_fitted(self, vehicles, stock, found, data):
        fitments = st.lists(st.sampled_from(stock), unique_by=id)
        possible = [
            Possible(
                application=vehicle,
                need=need_of(vehicle),
                candidates=tuple(candidate_of(part) for part in data.draw(fitments)),
            )
            for vehicle in vehicles
        ]
        left, answers = entries(possible, findings=found, ask_year=True), {}
        traits = traits_to_ask(possible, ask_year=True)
        passed: set[str] = set()
        while question := best_question(left, traits=traits, passed=passed):
            passed.add(question.trait)
            reply = data.draw(st.sampled_from([*question.choices, None]))
            if reply is not None:
                answers[question.trait] = reply
                left = remaining(left, answers)
        assert left
        for fit in (p for p in possible if p.application.pk in {e.pk for e in left}):
            for chosen in fit.offer(found).offered:
                assert not wrong(fit.need, chosen.part, found)


class TestTraitsOf:
    def test_a_month_parts_what_was_built_before_it_from_the_rest(self):
        split = date(2016, 3, 1)
        before = Application(built_to=date(2016, 2, 1), year_from=2013, year_to=2016)
        after = Application(built_from=split, year_from=2016, year_to=2018)
        always = Application(year_from=2013, year_to=2018)
        sides = [traits_of(a, [split])["built 2016-03"] for a in (before, after, always)]
        assert sides == [{"before"}, {"from"}, {"before", "from"}]

    def test_what_is_not_recorded_is_no_trait(self):
        traits = traits_of(Application(year_from=2013, year_to=2013), [])
        assert set(traits) == {"system"}


@pytest.mark.django_db
class TestPossibleFits:
    def numbers(self, application, **found):
        (possible,) = possible_fits([application])
        return [o.part.number for o in possible.offer(Findings(**found)).offered]

    def test_a_part_that_supersedes_is_offered_too(self):
        application = make_application()
        old, new, newest = (make_part(number=n) for n in ("OLD", "NEW", "NEWEST"))
        make_fitment(application, old)
        Supersession.objects.create(old=old, new=new)
        Supersession.objects.create(old=new, new=newest)
        assert self.numbers(application) == ["NEW", "NEWEST", "OLD"]

    def test_an_old_part_serves_only_where_it_goes_both_ways(self):
        application = make_application()
        old, new, other = (make_part(number=n) for n in ("OLD", "NEW", "OTHER"))
        make_fitment(application, new)
        Supersession.objects.create(old=old, new=new)
        Supersession.objects.create(old=other, new=new, both_ways=True)
        assert self.numbers(application) == ["NEW", "OTHER"]

    def test_a_superseding_part_with_its_own_fitment_is_offered_once(self):
        application, old, new = make_application(), make_part(), make_part()
        Supersession.objects.create(old=old, new=new)
        make_fitment(application, old)
        make_fitment(application, new, rank=2)
        offered = [one.part for one in possible_fits([application])[0].offer().offered]
        assert [(part.number, part.replaces) for part in offered] == [
            (old.number, ""),
            (new.number, ""),
        ]

    def test_a_superseding_part_obeys_the_same_rules(self):
        application = make_application()
        old = make_part(number="OLD")
        new = make_part(number="NEW", band_315=True, band_433=False)
        make_fitment(application, old)
        Supersession.objects.create(old=old, new=new)
        assert self.numbers(application) == ["OLD"]

    def test_an_assembly_holds_no_more_than_its_snap_in_stem(self):
        application = make_application(placard_front_kpa=500)
        stem = make_part("stem", mounting="snap_in", rated_pressure_kpa=450)
        assembly = make_part(number="A")
        make_fitment(application, assembly)
        assert self.numbers(application) == ["A"]
        MadeOf.objects.create(whole=assembly, piece=stem)
        assert self.numbers(application) == []

    def test_queries_do_not_grow_with_the_rows(self, django_assert_num_queries):
        def catalogue(count):
            applications = [make_application() for _ in range(count)]
            for application in applications:
                for _ in range(3):
                    old, new = make_part(), make_part()
                    make_fitment(application, old)
                    Supersession.objects.create(old=old, new=new)
            return applications

        # Fitments, two steps of supersession, the parts they lead to, snap-in stems.
        for count in (1, 12):
            applications = catalogue(count)
            with django_assert_num_queries(5):
                possible_fits(applications)
