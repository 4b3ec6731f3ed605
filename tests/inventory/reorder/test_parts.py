from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.actions.fitments import supersede_part
from inventory.catalog.models import MadeOf, PartCode, Supersession
from inventory.ledger.actions import receive_stock
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
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

    def test_a_part_reaches_what_lists_the_one_it_replaces(self, client):
        old, new = make_part(number="OLD"), make_part(number="NEW")
        make_fitment(make_application(model="Reached"), old)
        Supersession.objects.create(old=old, new=new)
        assert "Reached" in page(client, new)
        assert "Also in place of OLD" in page(client, new)

    def test_a_universal_part_says_what_it_stands_in_for(self, client):
        application, own = make_application(), make_part(number="OWN")
        universal = make_part(number="UNI", universal=True)
        for part in (own, universal):
            make_fitment(application, part)
        assert "Stands in for" in page(client, universal)
        assert "OWN" in page(client, universal)
        assert "Universal parts that stand in for it" in page(client, own)

    def test_costs_the_same_for_many_rows(self, client, django_assert_num_queries):
        ShopSettings.load()
        part = make_part()

        def more(count):
            for number in range(count):
                key = f"{count}-{number}"
                make_fitment(application := make_application(), part)
                make_fitment(application, make_part(universal=True))
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
            # Four of the frame; the part, six lists of it and five of their parts; price, reach,
            # reach of what it replaces, stand-ins.
            with django_assert_num_queries(21):
                page(client, part)


class TestPartSupersede:
    @pytest.fixture
    def manager(self, client):
        client.force_login(make_user(Role.PARTS_MANAGER, home_site=make_site()))
        return client

    def send(self, client, part, **fields):
        address = reverse("inventory:part_supersede", args=[part.pk])
        return client.post(address, fields, follow=True).content.decode()

    def test_the_new_part_is_said_by_any_code(self, manager):
        old, new = make_part(number="OLD-1"), make_part(number="NEW-1")
        text = self.send(manager, old, new="new 1", both_ways="on", since="2026-03-09")
        assert "NEW-1 is offered wherever OLD-1 is listed." in text
        link = Supersession.objects.get()
        assert (link.old, link.new, link.both_ways, link.since) == (
            old,
            new,
            True,
            date(2026, 3, 9),
        )
        address = reverse("inventory:part_supersede", args=[old.pk])
        assert "OLD-1 is replaced by 1 part" in manager.get(address).content.decode()

    def test_a_refusal_is_said(self, manager):
        old, kit = make_part(number="OLD"), make_part("kit", number="KIT")
        text = self.send(manager, old, new="KIT")
        assert "KIT is a service kit and OLD a sensor assembly; only like replaces like." in text
        assert kit.supersedes.count() == 0


class TestSupersessionEnd:
    def test_it_is_no_longer_offered_instead(self, client):
        client.force_login(make_user(Role.PARTS_MANAGER, home_site=make_site()))
        link = supersede_part(make_part(number="OLD"), make_part(number="NEW"), by=None)
        address = reverse("inventory:supersession_end", args=[link.pk])
        text = client.post(address, follow=True).content.decode()
        assert "NEW is no longer offered in place of OLD." in text
        assert not Supersession.objects.exists()
