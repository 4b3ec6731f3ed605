from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import override_settings

from fixtures.demo.costs import distinctive_costs
from fixtures.demo.history import demo_rows
from inventory.catalog.codes import gtin14
from inventory.catalog.models import Part
from shopparts.management.commands.demo_shop import PASSWORD
from shopparts.models import User
from tests.make import make_site


@pytest.fixture(scope="module")
def rows():
    return demo_rows()


@pytest.fixture(scope="class")
def demo(django_db_setup, django_db_blocker):
    """The demo shop, loaded once for the tests of a class and taken out again after them."""
    quick = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    with (
        django_db_blocker.unblock(),
        transaction.atomic(),
        override_settings(PASSWORD_HASHERS=quick),
    ):
        yield said()
        transaction.set_rollback(True)


def said():
    out = StringIO()
    call_command("demo_shop", stdout=out)
    return out.getvalue()


class TestDemoShop:
    def test_says_who_can_sign_in(self, demo):
        assert "tova  Tova Rindell, technician" in demo
        assert "ines  Ines Varlet, parts manager" in demo
        assert "ruth  Ruth Ellingrove, owner" in demo

    def test_each_of_the_three_can_sign_in(self, demo):
        people = User.objects.filter(username__in=["tova", "ines", "ruth"])
        assert all(person.check_password(PASSWORD) for person in people)

    def test_nobody_else_can(self, demo):
        others = User.objects.exclude(username__in=["tova", "ines", "ruth"])
        assert others
        assert not any(person.check_password(PASSWORD) for person in others)
        assert not any(person.check_password("") for person in others)

    def test_run_again_loads_nothing(self, demo):
        before = Part.objects.count()
        assert said().startswith("The demo shop is there already; nothing was loaded.\n")
        assert Part.objects.count() == before


@pytest.mark.django_db
class TestDemoShopRefuses:
    def test_another_shops_data_folder(self, settings):
        make_site(code="MAIN")
        with pytest.raises(CommandError) as refusal:
            call_command("demo_shop", stdout=StringIO())
        assert str(refusal.value) == (
            f"The data folder {settings.DATA_DIR} holds another shop; "
            "set PLANNER_DATA to an empty folder for the demo."
        )
        assert not Part.objects.exists()


class TestDistinctiveCosts:
    def test_no_price_of_a_part_can_be_taken_for_one(self, rows):
        prices = {row["price_cents"] for row in rows.of("Selling prices")}
        prices |= {row["list_price_cents"] for row in rows.of("Parts")}
        assert {cents % 50 for cents in prices} == {0}
        assert {amount[-2:] for amount in distinctive_costs()} == {"37", "83"}


class TestDemoCatalogue:
    def test_every_gtin_passes_its_check_digit(self, rows):
        # GS1 General Specifications: weights 3, 1, 3, 1 … from the right.
        gtins = [row["code"] for row in rows.of("Codes") if row["kind"] == "gtin"]
        assert len(gtins) == len(set(gtins)) == len(rows.of("Parts"))
        assert all(gtin14(gtin) for gtin in gtins)

    def test_holds_sixty_applications_of_every_sort(self, rows):
        made = rows.of("Applications")
        assert len(made) == 60
        assert {row.get("band") for row in made} == {None, "315", "433", "other"}
        assert {row.get("mounting") for row in made} == {None, "snap_in", "clamp_in", "strap"}
        assert {row.get("construction") for row in made} == {None, "one_piece", "two_piece"}
        assert {row["sensors"] for row in made} == {0, 4, 5}
        assert any(row["built_to"] for row in made)

    def test_every_part_fits_something_or_is_a_piece_of_a_kit(self, rows):
        used = {row["part"] for row in rows.of("Fitments")}
        used |= {row["piece"] for row in rows.of("Made of")}
        used |= {row["old"] for row in rows.of("Supersessions")}
        left = {row["number"] for row in rows.of("Parts")} - used
        assert len(left) < 20
