import pytest

from inventory.catalog.models import Part, Supersession
from inventory.catalog.stand_ins import reached_instead, stand_in_pairs, stand_ins
from tests.make import make_application, make_fitment, make_part

pytestmark = pytest.mark.django_db


def found(part):
    return [(one.part.number, one.entries) for one in stand_ins(part)]


class TestStandIns:
    def test_listed_together_they_stand_for_one_another(self):
        universal = make_part(number="UNI", universal=True)
        often, once = make_part(number="OFTEN"), make_part(number="ONCE")
        for parts in ((universal, often), (universal, often, once), (once,)):
            application = make_application()
            for part in parts:
                make_fitment(application, part)
        assert found(universal) == [("OFTEN", 2), ("ONCE", 1)]
        assert found(once) == [("UNI", 1)]

    def test_other_kinds_wheels_and_bands_are_no_stand_in(self):
        universal = make_part(number="UNI", universal=True)
        application = make_application(band="433")
        make_fitment(application, universal, axle="front")
        make_fitment(application, make_part("body"), axle="front")
        make_fitment(application, make_part(), axle="rear")
        make_fitment(application, make_part(universal=True), axle="front")
        deaf = make_application(band="315")
        for part in (universal, make_part()):
            make_fitment(deaf, part)
        assert found(universal) == []

    def test_a_kit_has_no_band_to_agree_on(self):
        universal, own = make_part("kit", universal=True), make_part("kit", number="OWN")
        application = make_application(band="433")
        for part in (universal, own):
            make_fitment(application, part)
        assert found(universal) == [("OWN", 1)]


class TestReachedInstead:
    def test_where_the_old_part_is_listed_and_the_new_is_not(self):
        old, new = make_part(), make_part()
        reached, both = make_application(model="Reached"), make_application(model="Both")
        for application in (reached, both):
            make_fitment(application, old)
        make_fitment(both, new)
        Supersession.objects.create(old=old, new=new)
        assert list(reached_instead(new)) == [reached]
        assert list(reached_instead(old)) == []

    def test_both_ways_the_old_one_reaches_too(self):
        old, new, application = make_part(), make_part(), make_application()
        make_fitment(application, new)
        Supersession.objects.create(old=old, new=new, both_ways=True)
        assert list(reached_instead(old)) == [application]


class TestStandInPairs:
    def test_are_what_each_universal_part_stands_in_for(self, django_assert_num_queries):
        kit, own = make_part("kit", universal=True), make_part("kit")
        both, deaf = make_part(universal=True, band_315=True), make_part(universal=True)
        specific, other = make_part(band_315=True), make_part()
        for band, parts in {
            "433": (both, deaf, specific, kit, own),
            "315": (both, deaf, specific, other),
            "": (both, other),
        }.items():
            application = make_application(band=band)
            for part in parts:
                make_fitment(application, part)
        make_fitment(make_application(), both, axle="front")
        with django_assert_num_queries(1):
            pairs = stand_in_pairs()
        expected = {
            (one.part.pk, part.pk, one.entries)
            for part in Part.objects.filter(universal=True)
            for one in stand_ins(part)
        }
        assert set(pairs) == expected
        assert len(pairs) == len(expected) == 4
