from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.models import MadeOf, PartCode, Supersession
from inventory.ledger.actions import receive_stock
from inventory.shop.models import ShopSettings
from tests.make import make_application, make_fitment, make_part, make_site, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(client):
    client.force_login(make_user(home_site=make_site()))
    return client


def page(client, part):
    return client.get(reverse("inventory:part_detail", args=[part.pk])).content.decode()


class TestPartDetail:
    def test_lists_what_it_fits_in_readable_ranges(self, client):
        part = make_part()
        make_fitment(make_application(built_to=date(2016, 2, 1)), part)
        make_fitment(make_application(year_from=2017, year_to=2019), part)
        text = page(client, part)
        assert "2013–2016, built to February 2016" in text
        assert "2017–2019" in text

    def test_a_torque_not_recorded_is_looked_up_and_never_made_up(self, client):
        text = page(client, make_part(core_torque_cnm=45, mounting="clamp_in"))
        assert "<dt>Valve nut</dt><dd>look it up</dd>" in text
        assert "<dt>Valve core</dt><dd>0.45 N·m</dd>" in text

    def test_shows_codes_and_family(self, client):
        part, other = make_part(), make_part(number="NEWER")
        PartCode.objects.create(part=part, kind="printed", code="S-77", code_key="S77")
        Supersession.objects.create(old=part, new=other)
        MadeOf.objects.create(whole=part, piece=make_part("stem", number="THE-STEM"))
        text = page(client, part)
        for shown in ("S-77", "NEWER", "THE-STEM", "Superseded by", "Made of"):
            assert shown in text
        assert "Goes into" in page(client, part.pieces.get().piece)

    def test_costs_the_same_for_many_rows(self, client, django_assert_num_queries):
        ShopSettings.load()
        part = make_part()

        def more(count):
            for number in range(count):
                key = f"{count}-{number}"
                make_fitment(make_application(), part)
                MadeOf.objects.create(whole=part, piece=make_part("kit"))
                MadeOf.objects.create(whole=make_part(), piece=part)
                Supersession.objects.create(old=part, new=make_part())
                Supersession.objects.create(old=make_part(), new=part)
                PartCode.objects.create(part=part, kind="printed", code=key, code_key=key)

        for count in (1, 10):
            more(count)
            for number in range(count):
                key = f"stock {count}-{number}"
                receive_stock(part, site=make_site(), pieces=1, value_cents=1, by=None, key=key)
            # Four of the frame; the part, six lists of it and five of their parts; price, reach.
            with django_assert_num_queries(18):
                page(client, part)
