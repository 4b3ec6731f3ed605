from datetime import date

import pytest
from django.urls import reverse

from inventory.shop.models import ShopSettings
from tests.inventory.ledger.views.pages import stock, text_of
from tests.make import make_bin, make_part

pytestmark = pytest.mark.django_db


def shown(client, **asked):
    return text_of(client.get(reverse("inventory:shelf_age"), asked))


class TestShelfAge:
    def test_says_what_is_past_its_shelf_life(self, technician, site):
        seal = make_part("seal", number="OR-2", shelf_life_months=12)
        stock(seal, site, 2, made_on=date(2020, 5, 1))
        assert "2021-05-01, past" in shown(technician)
        text = shown(technician, show="past")
        assert "1 past its shelf life at Mill Road" in text
        assert "sealed lithium cell" in text
        assert "No parts not moved in a year" in shown(technician, show="still")

    def test_what_it_is_worth_is_for_the_parts_manager(self, technician, manager, site):
        stock(make_part(), site, 1, cents=7919)
        assert "79.19" in shown(manager)

    def test_a_technician_sees_no_value(self, technician, site):
        stock(make_part(), site, 1, cents=7919)
        assert "79.19" not in shown(technician)

    @pytest.mark.parametrize("show", ["", "past", "still"])
    def test_costs_the_same_for_many(self, technician, site, show, django_assert_num_queries):
        ShopSettings.load()
        for count in (1, 9):
            for _ in range(count):
                part = make_part("seal", shelf_life_months=1)
                stock(part, site, 1, made_on=date(2020, 5, 1), bin=make_bin(site))
            with django_assert_num_queries(5):
                shown(technician, show=show)
