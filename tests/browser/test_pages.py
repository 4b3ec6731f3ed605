"""Every page and state of the site: accessible, fits a phone, and readable by day and by night."""

from datetime import timedelta
from io import StringIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.core.management import call_command
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from inventory.catalog.models import Application, Part
from inventory.catalog.names import names
from inventory.ledger.actions import log_ask
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import PlanLine, Supplier
from inventory.shop.models import Site
from jobs.workshop.models import Job, Vehicle, WheelSet
from shopparts.models import Run, User
from shopparts.people import join_path
from shopparts.runs.models import RunKind, RunStatus
from tests.addresses import own_addresses
from tests.make import (
    PASSWORD,
    make_application,
    make_fitment,
    make_job,
    make_part,
    make_user,
    make_vehicle,
    make_wheels,
)
from tests.one_of_each import one_of_each, path_of
from tests.test_names import methods

pytestmark = pytest.mark.browser

NOT_SIGNED_IN = {"log_in", "first_owner", "join", "health"}
SIZES = ((360, 740), (820, 1180), (1440, 900), (390, 844))
OPEN_ALL = "document.querySelectorAll('main details').forEach(each => { each.open = true })"
WIDTH = "document.documentElement.scrollWidth"
# On a phone, what a finger aims at is 48 px high.
TOO_SMALL = """() => [...document.querySelectorAll(
    "main :is(button, select, summary, textarea, .button, label.tap), main .with-unit input"
)].filter(each => each.checkVisibility() && each.getBoundingClientRect().height < 47.5)
  .map(each => each.outerHTML.slice(0, 90))"""
# Colours are all that the night changes.
CONTRAST = {"runOnly": ["color-contrast"], "resultTypes": ["violations"]}
RICH = (
    "inventory:plan_detail",
    "inventory:plan_why",
    "inventory:plan_budget",
    "inventory:plan_seasons",
    "inventory:plan_record",
    "inventory:supplier_detail",
    "jobs:job_detail",
    "jobs:vehicle_detail",
    "jobs:lifetime_list",
    "jobs:lot_list",
    "jobs:money",
)
REFUSED = "main .error, main .errorlist, main [role=alert]"
A_LONG_NAME = "Inflation-and-Wheel-Attendance-Company of Upper Saltmarsh and Kelpwick Harbor"


def looks_well(page, *, night=True):
    """No complaint of axe with all that can be opened open; nothing too wide or too small."""
    page.evaluate(OPEN_ALL)
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(WIDTH) <= width, f"{page.url} at {width}"
    assert page.evaluate(TOO_SMALL) == [], page.url
    looked = [("light", None), ("dark", CONTRAST)] if night else [("light", None)]
    for scheme, options in looked:
        page.emulate_media(color_scheme=scheme)
        results = Axe().run(page, options=options or {"resultTypes": ["violations"]})
        assert results.violations_count == 0, f"{page.url}\n{results.generate_report()}"


@pytest.fixture
def all_of_it(transactional_db):
    """One record behind every address, some asks, and the plan that came of them."""
    names.forget()
    shop = one_of_each()
    part, site = Part.objects.get(pk=shop["parts"]), shop["people"]["owner"].home_site
    for week in range(1, 40):
        at = timezone.now() - timedelta(weeks=week)
        log_ask(part, site=site, pieces=1 + week % 2, by=None, key=f"asked-{week}", at=at)
    run = run_plan(as_of=site.today(), by=None)
    yield shop | {"plan": PlanLine.objects.get(run=run, part=part, site=site).pk}
    names.forget()


@pytest.fixture
def enter(page, client, live_server, transactional_db):
    """Comes in as somebody and opens addresses; the way in by the log-in page has its own test."""

    def as_person(person):
        client.force_login(person)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        page.context.add_cookies(
            [{"name": cookie.key, "value": cookie.value, "url": live_server.url}]
        )
        return lambda path: page.goto(live_server.url + path)

    return as_person


@pytest.fixture
def addresses(all_of_it):
    """Every page there is, and those that show more when more is asked for."""
    for trim in ("LX", "GT"):
        number = f"AB-{trim}"
        make_fitment(make_application(model="Vasto", trim=trim), make_part(number=number))
    wrong = make_part(number="AB-13", band_433=False, band_315=True)
    make_fitment(Application.objects.get(pk=all_of_it["fit"]), wrong)
    vasto = reverse("fit") + "?make=Merow&model=Vasto&year=2014"
    return [
        *(path_of(address, all_of_it) for address in pages_signed_in()),
        join_path(all_of_it["people"]["technician"]),
        reverse("search") + "?q=ab",
        reverse("search") + "?q=nothing+like+it",
        reverse("fit") + "?make=Merow",
        vasto,
        vasto + "&trim=?",
        reverse("inventory:shelf_list") + "?q=ab",
        reverse("inventory:part_shelf", args=[all_of_it["parts"]])
        + f"?done={all_of_it['postings']}",
    ]


def pages_signed_in():
    return [a for a in own_addresses() if "GET" in methods(a) and a.name not in NOT_SIGNED_IN]


def test_pages(page, all_of_it, addresses, enter):
    go = enter(all_of_it["people"]["owner"])
    for address in addresses:
        go(address)
        looks_well(page)


def test_menus_and_what_is_found_while_typing(page, all_of_it, enter):
    enter(all_of_it["people"]["owner"])(reverse("today"))
    for menu in page.locator("header details").all():
        menu.locator("summary").click()
        looks_well(page)
        menu.locator("summary").click()
    page.locator("header input[type=search], header .find input").first.press_sequentially("mer")
    page.wait_for_selector("#found a")
    looks_well(page)


def test_a_shop_with_nothing_in_it_yet(page, enter):
    site = Site.objects.create(code="Q", name="Quay", zone="UTC")
    go = enter(make_user("owner", home_site=site))
    for address in pages_signed_in():
        if not address.arguments:
            go(reverse(address.name))
            looks_well(page, night=False)


def test_forms_that_were_refused(page, all_of_it, enter):
    go = enter(all_of_it["people"]["owner"])
    part = [all_of_it["parts"]]
    for path in (
        reverse("change_password"),
        reverse("data"),
        reverse("fit_not_listed"),
        reverse("jobs:vehicle_new"),
        reverse("person_list"),
        reverse("inventory:supplier_new"),
        reverse("inventory:claim_new"),
        *(reverse(f"inventory:part_{name}", args=part) for name in ("shelf", "scrap", "hold")),
    ):
        go(path)
        form = page.locator("main form[method=post]").first
        form.evaluate("form => form.setAttribute('novalidate', '')")
        for field in form.locator("input:visible:not([type=checkbox], [type=radio])").all():
            if field.get_attribute("type") != "file":
                field.fill("")
        form.locator("button").first.click()
        page.wait_for_selector(REFUSED)
        looks_well(page)


def test_runs_in_every_state(page, all_of_it, enter):
    go = enter(all_of_it["people"]["owner"])
    for status in RunStatus:
        run = Run.objects.create(
            key=f"a-{status}",
            kind=RunKind.LOAD,
            status=status,
            started_at=timezone.now(),
            beat_at=timezone.now(),
            progress="Sheet 3 of 41: Parts",
            words="Row 4 of Parts: what the pack holds must be 1 or more; got 0.",
        )
        go(reverse("run_detail", args=[run.pk]))
        looks_well(page)


def test_five_wheels_a_stored_set_and_long_names(page, all_of_it, enter):
    site = all_of_it["people"]["owner"].home_site
    application = make_application(model=A_LONG_NAME[:40], sensors=5, spare_has_sensor=True)
    make_fitment(application, make_part(words=A_LONG_NAME, maker=A_LONG_NAME[:40]))
    vehicle = make_vehicle(application, plate="LONGPLATE 12345")
    make_wheels(vehicle, count=5)
    make_wheels(vehicle, count=4, stored=True, set_name="Winter", stored_where=A_LONG_NAME[:40])
    job = make_job(vehicle, site=site, words=A_LONG_NAME)
    go = enter(make_user("technician", first_name=A_LONG_NAME[:30], home_site=site))
    for name, pk in (
        ("jobs:job_detail", job.pk),
        ("jobs:job_card", job.pk),
        ("jobs:job_options", job.pk),
        ("jobs:vehicle_detail", vehicle.pk),
        ("fit_answer", application.pk),
    ):
        go(reverse(name, args=[pk]))
        looks_well(page)


def test_what_three_years_of_a_shop_fill(page, enter, transactional_db):
    """The pages that show more on the demo shop than on a shop with one record of each."""
    names.forget()
    call_command("demo_shop", stdout=StringIO())
    go = enter(User.objects.get(username="ruth"))
    stored = WheelSet.objects.values_list("vehicle", flat=True)
    records = {
        "inventory:plan_why": PlanLine.objects.latest("asks"),
        "inventory:supplier_detail": Supplier.objects.all()[0],
        "jobs:job_detail": Job.objects.in_hand().filter(vehicle__in=stored)[0],
        "jobs:vehicle_detail": Vehicle.objects.get(pk=stored[0]),
    }
    for name in RICH:
        go(reverse(name, args=[records[name].pk] if name in records else []))
        looks_well(page)
    names.forget()


def test_what_is_not_to_be_had(page, all_of_it, enter, live_server):
    go = enter(all_of_it["people"]["technician"])
    assert go(reverse("jobs:money")).status == 403
    looks_well(page)
    assert go("/nothing/of/the/kind/").status == 404
    looks_well(page)
    broken = live_server.url + "/broken/"
    page.route(broken, lambda route: route.fulfill(body=render_to_string("500.html"), status=500))
    page.goto(broken)
    looks_well(page)


def test_the_way_in(page, live_server, transactional_db):
    person = make_user()
    page.goto(live_server.url + reverse("log_in"))
    looks_well(page)
    for _ in range(settings.AXES_FAILURE_LIMIT):
        page.get_by_label("Name").fill(person.username)
        page.get_by_label("Password").fill(f"not {PASSWORD}")
        with page.expect_navigation():
            page.get_by_role("button", name="Log in").click()
        if page.get_by_label("Password").count():
            last_refusal = page.content()
    assert "alert" in last_refusal
    assert "Too many wrong passwords" in page.content()
    looks_well(page)


def test_paper(page, all_of_it, enter):
    go = enter(all_of_it["people"]["owner"])
    page.emulate_media(media="print")
    for name, noun in (
        ("inventory:order_detail", "orders"),
        ("inventory:count_sheet", "counts"),
        ("jobs:job_card", "jobs"),
        ("jobs:job_options", "jobs"),
    ):
        go(reverse(name, args=[all_of_it[noun]]))
        assert not page.locator("header.top, nav, button").filter(visible=True).count()
        assert page.locator("main h1").is_visible()
        assert page.locator("main :is(table, ul, dl, p)").filter(visible=True).count(), name
        looks_well(page)
