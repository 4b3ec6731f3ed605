import pytest
from django.db import connection

from inventory.catalog.models import Application, PartCode
from inventory.catalog.names import (
    Typed,
    makes,
    models_of,
    names,
    parts_known_as,
    typed,
    vehicles_named,
)
from tests.make import make_application, make_part


@pytest.fixture(autouse=True)
def _fresh_names():
    names.forget()
    yield
    names.forget()


def found(text):
    return [(hit.make, hit.model) for hit in vehicles_named(text)]


class TestTyped:
    @pytest.mark.parametrize(
        ("text", "words", "year"),
        [
            ("14 merow van", ("merow", "van"), 2014),
            ("merow van '98", ("merow", "van"), 1998),
            ("2014 Merow", ("merow",), 2014),
            ("merow 300 lx", ("merow", "300", "lx"), None),
            ("merow 30 lx", ("merow", "30", "lx"), None),
            ("14", ("14",), None),
            ("1492 merow", ("1492", "merow"), None),
            ("٢٠١٤ merow", ("٢٠١٤", "merow"), None),
            ("🚐 '; drop table --", ("drop", "table"), None),
        ],
    )
    def test_takes_year_and_words_apart(self, text, words, year):
        assert typed(text) == Typed(words=words, year=year)


@pytest.mark.django_db
class TestVehiclesNamed:
    def test_what_begins_as_typed_comes_before_what_is_alike(self):
        for model in ("Lista", "Listra", "Vasto"):
            make_application(model=model)
        assert found("merow lis")[:2] == [("Merow", "Lista"), ("Merow", "Listra")]
        assert found("Merow-Listra")[0] == ("Merow", "Listra")

    @pytest.mark.parametrize("text", ["14 merwo lista", "meow lista", "merow litsa", "lista"])
    def test_a_slip_of_the_finger_still_finds_it(self, text):
        make_application()
        make_application(make="Tarpan", model="Kolo")
        assert found(text)[0] == ("Merow", "Lista")

    def test_a_year_leaves_only_what_reaches_over_it(self):
        make_application(year_from=2013, year_to=2016)
        assert found("2016 merow lista") == [("Merow", "Lista")]
        assert found("2017 merow lista") == []

    def test_words_beyond_the_name_are_kept_for_the_next_step(self):
        make_application(trim="Cargo")
        (hit,) = vehicles_named("14 merow lsta cargo")
        assert hit.other_words == "cargo"

    def test_a_new_name_is_found_at_once(self):
        make_application()
        assert found("tarpan") == []
        make_application(make="Tarpan", model="Kolo")
        assert found("tarpan") == [("Tarpan", "Kolo")]

    @pytest.mark.parametrize("text", ["", "   ", "🚐", "\x00", "%_", "'; drop table x; --" * 600])
    def test_nonsense_finds_nothing_and_breaks_nothing(self, text):
        assert isinstance(vehicles_named(text), list)

    def test_costs_one_query_however_many_vehicles(self, django_assert_num_queries):
        for number in range(30):
            make_application(model=f"Model {number}")
        vehicles_named("merow")
        with django_assert_num_queries(1):
            vehicles_named("merow")


@pytest.mark.django_db
class TestPrefix:
    def test_is_answered_from_the_index(self):
        query = Application.objects.filter(search_key__prefix="MEROW")
        if connection.vendor == "sqlite":
            assert "search_key>? AND search_key<?" in query.explain()
        else:
            sql, params = query.query.sql_with_params()
            assert '"search_key" LIKE %s' in sql
            assert params == ("MEROW%",)

    def test_takes_what_begins_so_and_nothing_else(self):
        for model in ("Lista", "Liszt", "Ölist"):
            make_application(make="M", model=model)
        rows = Application.objects.filter(search_key__prefix="MLIS")
        assert {a.model for a in rows} == {"Lista", "Liszt"}
        assert Application.objects.filter(search_key__prefix="MÖL").count() == 1


@pytest.mark.django_db
class TestPartsKnownAs:
    def numbers(self, text):
        return [part.number for part in parts_known_as(text)]

    def test_an_exact_number_comes_first(self):
        for number in ("AB-12", "AB-123", "AB-1"):
            make_part(number=number)
        assert self.numbers("ab 12") == ["AB-12", "AB-123"]

    def test_any_code_finds_the_part_once(self):
        part = make_part(number="AB-12")
        for kind in ("printed", "supplier"):
            code = PartCode(part=part, kind=kind, code="S-77.4")
            code.full_clean()
            code.save()
        assert self.numbers("s774") == ["AB-12"]

    def test_a_gtin_is_found_in_any_of_its_lengths(self):
        # 614141000036 and 0614141000036 name one article: GS1 pads with zeros on the left.
        part = make_part(number="AB-12")
        code = PartCode(part=part, kind="gtin", code="614141000036")
        code.full_clean()
        code.save()
        assert self.numbers("0614141000036") == ["AB-12"]
        assert self.numbers("00614141000036") == ["AB-12"]

    def test_words_find_what_no_code_does(self):
        make_part("kit", number="K1", words="Clamp-in service kit, aluminium")
        make_part("kit", number="K2", words="Snap-in kit")
        assert self.numbers("clamp kit") == ["K1"]

    @pytest.mark.parametrize("text", ["", "🛞", "\x00", "%", "x" * 10_000])
    def test_nonsense_finds_nothing(self, text):
        make_part()
        assert self.numbers(text) == []


@pytest.mark.django_db
class TestMakes:
    def test_each_once_in_order(self):
        make_application(make="Tarpan", model="Kolo")
        make_application(model="Vasto")
        make_application(model="Lista")
        assert makes() == ["Merow", "Tarpan"]
        assert models_of("Merow") == ["Lista", "Vasto"]
