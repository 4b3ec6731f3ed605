"""The whole road on the demo shop: what a technician reads, what is advised, what jobs earned."""

import json
import random
from datetime import date
from io import StringIO

import numpy as np
import pytest
from django.apps import apps
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from lxml import html

from fixtures.demo.costs import costs_shown, distinctive_costs
from fixtures.demo.history import demo_rows
from inventory.catalog.models import Application, Part
from inventory.ledger.actions import start_count
from inventory.reorder.models import Order, PlanLine, Supplier
from inventory.shop.models import Bin, Site
from inventory.shop.roles import Role
from jobs.review.advised import advised
from jobs.review.inputs.laws import shop_laws
from jobs.review.period import PeriodEarned, Span, periods_earned
from jobs.review.period import moved as moved_between
from jobs.workshop.models import Job, Vehicle
from shopparts.management.commands.demo_shop import (
    LAST_DAY,
    PASSWORD,
    WORKBOOK,
    moved,
    weeks_since,
)
from shopparts.models import User
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from tests.addresses import own_addresses
from tests.bench.expected import last_year
from tests.shopparts.earned_by_sql import earned_by_sql
from tests.shopparts.plain_margins import lines_by_job
from tests.test_access import FOR, SIGNED_OUT
from tests.test_names import methods

OURS = ("inventory", "jobs", "shopparts")
BACKEND = "django.contrib.auth.backends.ModelBackend"
SAID_OF_WHEELS = {
    "Leave as it is",
    "Re-learn only",
    "Valve core only",
    "Try again",
    "Find the fault in the vehicle",
    "Replace the service kit",
    "Replace the stem",
    "Replace the rubber stem",
    "Replace the sensor body",
    "Replace the whole assembly",
    "Wrong sensor on this wheel: replace the sensor body",
}
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
FIRST_DAY = "2020-01-01"


def every_row():
    models = (m for label in OURS for m in apps.get_app_config(label).get_models())
    return {m._meta.db_table: list(m._default_manager.order_by("pk").values_list()) for m in models}


def signed_in(client, username):
    client.force_login(User.objects.get(username=username), BACKEND)
    return client


def printed(command, *words, **options):
    out = StringIO()
    call_command(command, *words, json=True, stdout=out, **options)
    return json.loads(out.getvalue())


def records():
    """What the pages are opened with, by the noun of their address or by their name."""
    in_hand = list(Job.objects.in_hand().order_by("pk").values_list("pk", flat=True))
    comebacks = Job.objects.exclude(closed_at=None).exclude(comeback_of=None).order_by("-pk")
    cars = Vehicle.objects.filter(jobs__in=in_hand).distinct()
    parts = list(Part.objects.values_list("pk", flat=True))
    entries = list(Application.objects.values_list("pk", flat=True))
    return {
        "jobs:job_card": in_hand[3:7],
        "jobs:job_detail": [*in_hand, *comebacks.values_list("pk", flat=True)[:2]],
        "jobs": in_hand[:3],
        "vehicles": list(cars.values_list("pk", flat=True)),
        "inventory:part_detail": parts[::3],
        "inventory:part_shelf": parts[::3],
        "parts": parts[::40],
        "fit_answer": entries,
        "fit": entries[:3],
        "orders": list(Order.objects.values_list("pk", flat=True)[:1]),
        "plan": list(PlanLine.objects.values_list("pk", flat=True)[:1]),
        "sites": list(Site.objects.values_list("pk", flat=True)[:1]),
        "bins": list(Bin.objects.values_list("pk", flat=True)[:1]),
        "lots": list(Part.objects.values_list("pk", flat=True)[:1]),
        "counts": [count_of_a_bin().pk],
    }


def count_of_a_bin():
    site = Site.objects.selling()[0]
    return start_count(site, title="One bin", bins=site.bins.all()[:1], by=None, key="count")


def own_pages():
    """(name, path) of every page there is for people who signed in."""
    found = records()
    for address in own_addresses():
        if "GET" not in methods(address) or FOR[address.name] == SIGNED_OUT:
            continue
        noun = address.route.split("/")[0]
        # What is not for technicians refuses them before it looks for any record.
        shown = [1] if FOR[address.name] != Role.TECHNICIAN else []
        keys = [[pk] for pk in found.get(address.name, found.get(noun, shown))]
        for arguments in keys if address.arguments else [[]]:
            yield address.name, reverse(address.name, args=arguments)


def asked_pages():
    """Pages that show more when more is asked for."""
    one_of_each = Vehicle.objects.all()[0], Part.objects.all()[0], Supplier.objects.all()[0]
    for words in (*map(str, one_of_each), "sensor"):
        yield "search", f"{reverse('search')}?q={words}"
    for number in (1, 2, 3):
        yield "inventory:shelf_list", f"{reverse('inventory:shelf_list')}?page={number}"
    for show in ("booked", "closed"):
        yield "jobs:job_list", f"{reverse('jobs:job_list')}?show={show}"


def without_expected(text):
    """The page without what is expected over the years, which ends in any cents."""
    page = html.fromstring(text)
    for head in page.xpath("//th[normalize-space()='Expected']"):
        column = len(head.xpath("preceding-sibling::th"))
        for row in head.xpath("ancestor::table[1]/tbody/tr"):
            row.remove(row[column])
    return html.tostring(page, encoding="unicode")


def amounts_in(answer):
    """Every amount of a JSON answer but those expected over the years, with its name."""
    if isinstance(answer, list):
        answer = dict(enumerate(answer))
    if isinstance(answer, dict):
        for name, value in answer.items():
            if isinstance(value, int) and name != "expected_cents":
                yield str(name), value
            else:
                yield from amounts_in(value)


def costs_in(answer):
    cents = {int(amount.replace(".", "")) for amount in distinctive_costs()}
    return {
        (name, value)
        for name, value in amounts_in(answer)
        if value in cents or "cost" in name or "margin" in name
    }


def said_on(page):
    """(advised, because, caution) of each wheel of a job's page; a closed job advises nothing."""
    for words in html.fromstring(page).xpath("//article//p[@class='advised']"):
        caution = words.xpath("../p[@class='caution']//text()")
        yield words.text_content(), words.getnext().text_content(), " ".join(caution)


@pytest.fixture(scope="module")
def read(demo):
    """What a technician gets from every page, by its name and path."""
    client = signed_in(Client(), "tova")
    pages = (*own_pages(), *asked_pages())
    return {(name, path): client.get(path, follow=True) for name, path in pages}


def said_again():
    out = StringIO()
    call_command("demo_shop", stdout=out)
    return out.getvalue()


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

    def test_run_again_loads_nothing(self, demo):
        before = Part.objects.count()
        assert said_again().startswith("The demo shop is there already; nothing was loaded.\n")
        assert Part.objects.count() == before


@pytest.mark.django_db
class TestDemoRoad:
    def test_loading_again_changes_nothing_and_the_stock_agrees(self, demo):
        before = every_row()
        days = weeks_since(LAST_DAY, timezone.now().date()) * 7
        report = load(WORKBOOK, moved(sheets(), days=days))
        assert report.written
        found = {title: (s.added, s.changed) for title, s in report.saved.items()}
        assert set(found.values()) == {(0, 0)}, found
        after = every_row()
        assert [name for name, rows in before.items() if rows != after[name]] == []
        call_command("audit_stock", stdout=StringIO())

    def test_a_technician_opens_what_is_for_him_and_nothing_else(self, read):
        for (name, path), answer in read.items():
            assert answer.status_code == (200 if FOR[name] == Role.TECHNICIAN else 403), path
        pages = {a.name for a in own_addresses() if "GET" in methods(a)}
        assert {name for name, _ in read} == {n for n in pages if FOR[n] != SIGNED_OUT}

    def test_a_technician_reads_no_cost(self, read):
        for (_, path), answer in read.items():
            shown = costs_shown(without_expected(answer.content.decode()))
            assert shown == set(), path

    def test_what_the_commands_say_of_fit_and_advice_holds_no_cost(self, demo):
        found = []
        for application in Application.objects.all()[:12]:
            words = f"{application.year_from} {application.make} {application.model}"
            answer = printed("fits", *words.split())
            found += [part for fit in answer["fits"] for part in fit["parts"]]
            assert costs_in(answer) == set(), words
        assert any(part["price_cents"] for part in found)
        for job in Job.objects.in_hand().order_by("-pk")[:6]:
            assert costs_in(printed("advise", job.key)) == set(), job.key

    def test_such_amounts_are_found_where_they_stand(self, demo, client):
        # So that the searches above are known to find what they look for.
        page = signed_in(client, "ines").get(reverse("inventory:order_list")).content.decode()
        draft = Order.objects.drafts()[0]
        page += client.get(reverse("inventory:order_detail", args=[draft.pk])).content.decode()
        assert costs_shown(without_expected(page)) != set()
        amount = next(iter(distinctive_costs()))
        cents = int(amount.replace(".", ""))
        assert costs_in({"parts": [{"price_cents": cents}]}) == {("price_cents", cents)}
        assert costs_in({"parts": [{"cost_cents": 1}]}) == {("cost_cents", 1)}

    def test_every_kind_of_advice_stands_in_the_yard_with_its_because(self, read):
        pages = [a.content for (name, _), a in read.items() if name == "jobs:job_detail"]
        said = [wheel for page in pages for wheel in said_on(page)]
        assert {advised for advised, _, _ in said} == SAID_OF_WHEELS
        assert all(because for _, because, _ in said)
        assert all(caution for advised, _, caution in said if "eplace" in advised)

    def test_page_card_and_command_say_the_same_cautions(self, read):
        for pk in records()["jobs:job_card"]:
            page, card = (
                read[name, reverse(name, args=[pk])].content
                for name in ("jobs:job_detail", "jobs:job_card")
            )
            on_card = html.fromstring(card).text_content()
            wheels = printed("advise", Job.objects.get(pk=pk).key)["wheels"]
            for wheel, said in zip(wheels, said_on(page), strict=True):
                assert said == (wheel["words"], wheel["because"], wheel["cautions"][0])
                assert all(words in on_card for words in wheel["cautions"])

    def test_with_the_vehicles_thin_parts_are_foretold_better_than_by_usage_alone(self, demo):
        """On the last year, in halves; what was tuned, was tuned on the years before it."""
        usage, vehicles = last_year()
        alone, together = np.concatenate(usage), np.concatenate(vehicles)
        assert len(alone) > 100
        assert together.mean() < alone.mean()

    def test_every_job_and_all_together_earned_what_the_rows_say(self, demo):
        told = printed("margin", first=FIRST_DAY, jobs=True)
        worked_out = earned_by_sql()
        assert len(told["each"]) == len(worked_out.jobs) > 3000
        for job in told["each"]:
            by_itself = worked_out.jobs[job["job"]]
            own = job["price_cents"] - job["parts_cents"] - job["labour_cents"]
            assert own + job["credit_cents"] == by_itself, job["job"]
            assert job["margin_cents"] == worked_out.charged[job["job"]], job["job"]
        assert told["write_offs_cents"] == worked_out.written_off != 0
        assert told["margin_cents"] == sum(worked_out.jobs.values()) - worked_out.written_off
        assert sum(worked_out.charged.values()) == sum(worked_out.jobs.values())

    def test_the_bridge_closes_to_the_cent_between_a_hundred_pairs_of_periods(self, demo):
        by_itself, rng = earned_by_sql().jobs, random.Random(8)
        (whole,) = periods_earned(Span(first=date(2020, 1, 1), last=timezone.now().date()))
        days = sorted(one.job.closed_on for one in whole.jobs if one.job.closed_on)

        def period():
            first, last = sorted(rng.sample(days, 2))
            span = Span(first=first, last=last)
            jobs = tuple(one for one in whole.jobs if span.holds(one.job.closed_on))
            lost = tuple(one for one in whole.write_offs if span.holds(one.day))
            return PeriodEarned(span=span, jobs=jobs, write_offs=lost)

        def left(these):
            return sum(by_itself[one.job.key] for one in these.jobs) - these.write_offs_cents

        for _ in range(100):
            before, after = period(), period()
            assert sum(moved_between(before, after).cells.values()) == left(after) - left(before)
