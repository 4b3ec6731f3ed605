import json
import re
from dataclasses import replace
from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from fixtures.demo import days
from fixtures.demo.costs import costs_shown
from fixtures.demo.history import demo_rows
from inventory.catalog.models import Part
from inventory.reorder.models import Order
from inventory.sheet import Saved
from jobs.review.advised import advised
from jobs.review.inputs.laws import shop_laws
from jobs.workshop.models import Job
from shopparts.management.commands.demo_shop import LAST_DAY, PASSWORD, moved, weeks_since
from shopparts.models import User
from shopparts.workbook.registry import sheets
from tests.make import make_site
from tests.shopparts.plain_margins import lines_by_job

LISTS = ("today", "inventory:shelf_list", "inventory:order_list", "jobs:job_list")
BACKEND = "django.contrib.auth.backends.ModelBackend"
EXPECTED = re.compile(r"<table(?:(?!</table>).)*Expected.*?</table>", re.DOTALL)
YARD = {
    "lamp flashes since the first frost": "Replace the sensor body",
    "lamp flashes, stems were white with salt": "Replace the whole assembly",
    "loses air at one wheel": "Replace the service kit",
    "lamp steady on a cold morning": "Leave as it is",
    "lamp since the winter wheels went on elsewhere": "Re-learn only",
    "loses air slowly": "Valve core only",
    "lamp flashes now and then": "Try again",
    "lamp flashes, everything answers": "Find the fault in the vehicle",
    "lamp flashes; four new tires today": "Replace the rubber stem",
}


def shown_to(username, client):
    """The costs of the shop on lists, open jobs, parts and drafts as this person sees them."""
    client.force_login(User.objects.get(username=username), BACKEND)
    parts = Part.objects.filter(kind="body")[:5]
    paths = [reverse(name) for name in LISTS]
    paths += [reverse("jobs:job_detail", args=[job.pk]) for job in Job.objects.in_hand()[:3]]
    paths += [reverse("inventory:part_detail", args=[part.pk]) for part in parts]
    paths += [reverse("inventory:order_detail", args=[o.pk]) for o in Order.objects.drafts()[:2]]
    pages = [client.get(path).content.decode() for path in paths]
    # What is expected over the years ends in any cents; it is a customer's figure.
    return {cost for page in pages for cost in costs_shown(EXPECTED.sub("", page))}


def said():
    out = StringIO()
    call_command("demo_shop", stdout=out)
    return out.getvalue()


@pytest.mark.xdist_group("demo")
@pytest.mark.django_db
class TestDemoShop:
    def test_says_who_can_sign_in(self, demo):
        assert "tova  Tova Rindell, technician" in demo
        assert "ines  Ines Quorley, parts manager" in demo
        assert "ruth  Ruth Ellingrove, owner" in demo

    def test_each_of_the_three_can_sign_in(self, demo):
        people = User.objects.filter(username__in=["tova", "ines", "ruth"])
        assert all(person.check_password(PASSWORD) for person in people)

    def test_nobody_else_can(self, demo):
        others = User.objects.exclude(username__in=["tova", "ines", "ruth"])
        assert others
        assert not any(person.check_password(PASSWORD) for person in others)
        assert not any(person.check_password("") for person in others)

    def test_the_stock_agrees_with_every_movement(self, demo):
        call_command("audit_stock", stdout=StringIO())

    def test_every_job_earned_what_the_bare_rows_say(self, demo):
        out = StringIO()
        call_command("margin", "--first", "2023-11-01", "--jobs", "--json", stdout=out)
        told = json.loads(out.getvalue())["each"]
        worked_out = lines_by_job(demo_rows())
        assert len(told) > 3000
        for job in told:
            cents = job["price_cents"], job["parts_cents"], job["labour_cents"]
            assert cents == worked_out.get(job["job"], (0, 0, 0)), job["job"]

    def test_the_yard_gets_every_kind_of_advice(self, demo):
        laws = shop_laws()
        open_jobs = Job.objects.in_hand().filter(words__in=YARD)
        given = {
            job.words: {one.words for one in advised(job, laws=laws).wheels} for job in open_jobs
        }
        for words, advice in YARD.items():
            assert advice in given[words], words

    def test_a_technician_sees_no_cost(self, demo, client):
        assert shown_to("tova", client) == set()

    def test_a_parts_manager_sees_what_parts_cost(self, demo, client):
        # So that the search above is known to find what it looks for.
        assert shown_to("ines", client) != set()

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


class TestMoved:
    def test_moves_the_history_by_whole_weeks(self):
        assert LAST_DAY == days.LAST_DAY
        assert weeks_since(LAST_DAY, LAST_DAY) == 0
        assert weeks_since(LAST_DAY, date(2026, 11, 30)) == 0
        assert weeks_since(LAST_DAY, date(2026, 12, 1)) == 1
        assert weeks_since(LAST_DAY, date(2026, 11, 23)) == -1

    def test_moves_days_and_leaves_months_and_price_lists(self):
        saved = []

        def save(rows, *, by):
            saved.extend(rows)
            return Saved()

        known = {title: replace(sheet, save=save) for title, sheet in sheets().items()}
        later = moved(known, days=14)
        later["Sites"].save([{"asks_logged_from": date(2026, 1, 1), "code": "QUAY"}], by=None)
        later["Evidence"].save([{"built_month": date(2019, 4, 1), "at": None}], by=None)
        later["Selling prices"].save([{"valid_from": date(2026, 1, 1)}], by=None)
        assert saved == [
            {"asks_logged_from": date(2026, 1, 15), "code": "QUAY"},
            {"built_month": date(2019, 4, 1), "at": None},
            {"valid_from": date(2026, 1, 1)},
        ]
