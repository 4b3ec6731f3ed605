from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.models import MadeOf, SellingPrice, VinPattern
from inventory.catalog.names import names
from inventory.shop.models import ShopSettings
from tests.make import make_application, make_fitment, make_part, make_site, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(client):
    names.forget()
    client.force_login(make_user(home_site=make_site()))
    yield client
    names.forget()


def page(client, name, *args, **query):
    return client.get(reverse(name, args=args), query).content.decode()


class TestSearch:
    def test_the_only_hit_opens_itself(self, client):
        part = make_part(number="AB-12")
        answer = client.get(reverse("search"), {"q": "ab12"})
        assert answer.headers["Location"] == reverse("inventory:part_detail", args=[part.pk])

    def test_as_you_type_gives_a_part_of_the_page(self, client):
        make_part(number="AB-12")
        answer = client.get(reverse("search"), {"q": "ab"}, headers={"HX-Request": "true"})
        assert "<html" not in answer.content.decode()
        assert "AB-12" in answer.content.decode()

    def test_a_vehicle_leads_to_the_fit_page_with_year_and_words(self, client):
        make_application(trim="Cargo")
        answer = client.get(reverse("search"), {"q": "14 merow lsta cargo"})
        assert answer.headers["Location"] == "/fit/?make=Merow&model=Lista&year=2014&words=cargo"

    def test_a_known_vin_leads_to_its_application(self, client):
        # The published sample of the check digit rule; its year code K is 1989 or 2019.
        application = make_application(year_from=2018, year_to=2020)
        VinPattern.objects.create(start="1M8GDM9A", year=1989, application=application, vehicles=3)
        text = page(client, "search", q="1m8gdm9a xkp042788")
        assert "Passes the check digit." in text
        assert "Model year 1989." in text
        assert reverse("fit_answer", args=[application.pk]) in text

    def test_a_year_code_of_a_year_to_come_names_none(self, client):
        # Year code Y is 2000 or 2030 (49 CFR 565.15); the letter in seventh place leaves 2030.
        text = page(client, "search", q="ZZZAB1C22Y1000117")
        assert "Passes the check digit." in text
        assert (
            "The tenth character names no model year up to now; ask for it or read the door label."
            in text
        )

    def test_a_split_entry_is_told_apart_by_its_months(self, client):
        for months in ({"built_to": date(2016, 2, 1)}, {"built_from": date(2016, 3, 1)}):
            application = make_application(**months)
            VinPattern.objects.create(start="1M8GDM9A", year=1989, application=application)
        text = page(client, "search", q="1m8gdm9a xkp042788")
        assert "built to February 2016, 1 vehicle like it served here" in text
        assert "built from March 2016, 1 vehicle like it served here" in text

    def test_a_failing_check_digit_warns_and_does_not_block(self, client):
        text = page(client, "search", q="1M8GDM9A1KP042788")
        assert (
            "The ninth character is “1”; the check digit would be “X”. "
            "Read a North American VIN again; elsewhere it may be right." in text
        )
        assert "Model year 1989 or 2019." in text
        assert "/fit/?year=2019" in text

    @pytest.mark.parametrize(
        ("text", "sentence"),
        [
            (
                "1M8GDM9AXKP04278",
                "A VIN has 17 characters; “1M8GDM9AXKP04278” has 16. Read it again.",
            ),
            (
                "1M8GDM9AXKPO42788",
                "“O” at place 12 of “1M8GDM9AXKPO42788” cannot stand in a VIN; "
                "letters other than I, O and Q, and digits, can.",
            ),
            (
                "1M8GDM9AXKPI42788",
                "“I” at place 12 of “1M8GDM9AXKPI42788” cannot stand in a VIN; "
                "letters other than I, O and Q, and digits, can.",
            ),
            (
                "QM8GDM9AXKP042788",
                "“Q” at place 1 of “QM8GDM9AXKP042788” cannot stand in a VIN; "
                "letters other than I, O and Q, and digits, can.",
            ),
            (
                "1M8GDM9AXKP0427881",
                "A VIN has 17 characters; “1M8GDM9AXKP0427881” has 18. Read it again.",
            ),
            ("2099 merow lista", "Nothing found for “2099 merow lista”"),
            (
                "x" * 10_000,
                "That is too long to look up: 10000 characters. "
                "Type a VIN, a plate, a code or a few words.",
            ),
            ("🚗🛞", "Type letters or digits."),
            ("'; DROP TABLE inventory_part; --", "Nothing found for"),
            ("\x00", "Type letters or digits."),
        ],
    )
    def test_wrong_input_gives_a_sentence(self, client, text, sentence):
        make_part()
        answer = client.get(reverse("search"), {"q": text})
        assert answer.status_code == 200
        assert sentence in answer.content.decode()

    def test_an_empty_box_asks(self, client):
        assert "What are you looking for?" in page(client, "search")


class TestFit:
    def test_asks_make_then_model(self, client):
        make_application()
        assert "make=Merow" in page(client, "fit")
        assert "model=Lista" in page(client, "fit", make="Merow")

    def test_asks_the_question_that_parts_the_sensors(self, client):
        before = make_application(built_to=date(2016, 2, 1))
        after = make_application(built_from=date(2016, 3, 1))
        make_fitment(before, make_part(number="EARLY"))
        make_fitment(after, make_part(number="LATE"))
        asked = {"make": "Merow", "model": "Lista", "year": "2016"}
        text = page(client, "fit", **asked)
        assert "When was it built?" in text
        assert "Before March 2016" in text
        assert "March 2016 or later" in text
        text = page(client, "fit", **asked | {"built 2016-03": "from"})
        assert "LATE" in text
        assert "EARLY" not in text

    def test_asks_for_no_month_in_which_none_of_that_year_was_built(self, client):
        # A model year is built from January of the year before to December of its own
        # (40 CFR 85.2302 to 85.2304, from memory).
        early = make_application(year_to=2019, built_to=date(2016, 2, 1))
        late = make_application(year_to=2019, built_from=date(2016, 3, 1))
        for application in (early, late):
            make_fitment(application, make_part())
        asked = {"make": "Merow", "model": "Lista"}
        for year, asks in ((2015, False), (2016, True), (2017, True), (2018, False)):
            text = page(client, "fit", **asked, year=year)
            assert ("When was it built?" in text) == asks
            # What cannot be asked is still told apart.
            assert ("2 possibilities; look which one it is" in text) != asks

    def test_not_knowing_shows_all_with_what_tells_them_apart(self, client):
        for trim in ("LX", "GT"):
            make_fitment(make_application(trim=trim), make_part(number=f"FOR-{trim}"))
        text = page(client, "fit", make="Merow", model="Lista", year="2014", trim="?")
        assert "2 possibilities; look which one it is" in text
        assert "<h2>LX</h2>" in text
        assert "<h2>GT</h2>" in text

    def test_a_draft_among_the_possibilities_is_marked(self, client):
        for trim, status in (("LX", "draft"), ("GT", "checked")):
            make_fitment(make_application(trim=trim, status=status), make_part())
        text = page(client, "fit", make="Merow", model="Lista", year="2014", trim="?")
        assert "LX <span" in text
        assert text.count("draft, not checked") == 1

    def test_asks_nothing_that_does_not_change_the_parts(self, client):
        part = make_part(number="SAME")
        for trim in ("LX", "GT"):
            make_fitment(make_application(trim=trim, placard_front_kpa=len(trim) * 120), part)
        text = page(client, "fit", make="Merow", model="Lista", year="2014")
        assert "SAME" in text
        assert "433 MHz, clamp-in, two-piece" in text

    def test_words_narrow_and_unknown_words_say_so(self, client):
        for trim in ("Cargo", "Tour"):
            make_fitment(make_application(trim=trim), make_part(number=f"FOR-{trim}"))
        asked = {"make": "Merow", "model": "Lista", "year": "2014"}
        assert "FOR-Cargo" in page(client, "fit", **asked, words="cargo")
        assert "No entry says “plumbus”" in page(client, "fit", **asked, words="plumbus")

    @pytest.mark.parametrize("year", ["1901", "abc", "", "99999", "２０１４", "\x00"])
    def test_an_odd_year_is_no_error(self, client, year):
        make_application()
        answer = client.get(
            reverse("fit"), {"make": "Merow", "model": "Lista", "year": year, "built x": "\x00"}
        )
        assert answer.status_code == 200

    def test_a_year_that_is_not_listed_says_what_next(self, client):
        make_application()
        text = page(client, "fit", make="Merow", model="Lista", year="1999")
        assert "Nothing is listed for this in 1999" in text
        assert "all years of this model" in text

    def test_costs_the_same_for_many_applications(self, client, django_assert_num_queries):
        ShopSettings.load()

        def more(count):
            for _ in range(count):
                for trim in ("LX", "GT"):
                    make_fitment(make_application(trim=trim), make_part())

        asked = {"make": "Merow", "model": "Lista"}
        more(1)
        client.get(reverse("fit"), asked)
        for _ in range(2):
            with django_assert_num_queries(9):
                client.get(reverse("fit"), asked)
            more(10)


class TestFitAnswer:
    def test_says_what_fits_and_what_does_not(self, client):
        application = make_application(relearn="drive", relearn_steps="Drive ten minutes.")
        make_fitment(
            application, make_part(number="FITS", mounting="clamp_in", list_price_cents=4990)
        )
        make_fitment(application, make_part(number="WRONG", band_315=True, band_433=False))
        text = page(client, "fit_answer", application.pk)
        assert "433 MHz, clamp-in, two-piece" in text
        assert "FITS" in text
        assert "$49.90" in text
        assert "Sends on 315 MHz; this vehicle listens on 433 MHz." in text
        assert "Drive ten minutes." in text
        assert "Valve nut torque: look it up." in text

    def test_the_shops_own_price_goes_before_the_list(self, client):
        application, part = make_application(), make_part(list_price_cents=4990)
        make_fitment(application, part)
        SellingPrice.objects.create(part=part, valid_from=date(2020, 1, 1), price_cents=3990)
        SellingPrice.objects.create(part=part, valid_from=date(2999, 1, 1), price_cents=1)
        assert "$39.90" in page(client, "fit_answer", application.pk)

    def test_the_pressure_really_set_rules_a_snap_in_out(self, client):
        application = make_application(placard_rear_kpa=420)
        snap = make_part(number="SNAP", mounting="snap_in", rated_pressure_kpa=450)
        make_fitment(application, snap)
        assert "left out, and why" not in page(client, "fit_answer", application.pk)
        text = page(client, "fit_answer", application.pk, pressure_set="70")
        assert "Snap-in rated 65.3 psi; this wheel is set to 70 psi." in text

    def test_what_cannot_be_read_changes_nothing(self, client):
        application = make_application()
        make_fitment(application, make_part(number="FITS"))
        text = page(client, "fit_answer", application.pk, pressure_set="x", hole="x")
        assert "FITS" in text
        assert "Enter a number." in text

    def test_an_indirect_system_sells_plain_valves(self, client):
        application = make_application(system="indirect", band="", mounting="")
        make_fitment(application, make_part("plain_valve", number="VALVE"))
        text = page(client, "fit_answer", application.pk)
        assert "No sensors in the wheels: plain valves and a reset" in text
        assert "VALVE" in text

    def test_an_assembly_names_the_body_and_stem_it_is_made_of(self, client):
        application, whole = make_application(), make_part(number="WHOLE")
        make_fitment(application, whole)
        for kind in ("body", "stem", "kit"):
            MadeOf.objects.create(whole=whole, piece=make_part(kind, number=f"THE-{kind}"))
        text = page(client, "fit_answer", application.pk)
        assert "THE-body" in text
        assert "THE-stem" in text
        assert "THE-kit" not in text

    def test_a_draft_says_that_nobody_has_checked_it(self, client):
        application = make_application(status="draft")
        assert "Draft: the parts manager has not checked it" in page(
            client, "fit_answer", application.pk
        )
