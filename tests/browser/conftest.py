"""A real browser: Debian's chromium, driven by pytest-playwright against a live server."""

import os
from datetime import date
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from inventory.catalog.names import names
from inventory.shop.models import ShopSettings
from tests.make import (
    PASSWORD,
    make_application,
    make_fitment,
    make_part,
    make_site,
    make_stock,
    make_user,
    make_vehicle,
    make_wheels,
)

CHROMIUM = Path("/usr/bin/chromium")
LAUNCH_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
MISSING = (
    f"Browser tests skipped: {CHROMIUM} was not found. "
    "Install it (Debian: apt-get install chromium) and run the tests again."
)
# htmx says so when it gives up a search that a later letter has overtaken.
GIVEN_UP = ("htmx:sendAbort", "htmx:afterRequest")
# Playwright drives the browser from an event loop of its own; the tests themselves stay plain.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    if not CHROMIUM.exists():
        if os.environ.get("PLANNER_TESTS_REQUIRED"):
            pytest.fail(MISSING)
        pytest.skip(MISSING)
    return browser_type_launch_args | {"executable_path": str(CHROMIUM), "args": LAUNCH_ARGS}


@pytest.fixture(scope="session", autouse=True)
def _static_folder():
    """The server looks for collected files when it starts, before any test has its settings."""
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)


@pytest.fixture
def complaints(page):
    """What the page's console says; an empty list at the end of a good test."""
    heard: list[str] = []

    def hear(message):
        if not message.text.startswith(GIVEN_UP):
            heard.append(message.text)

    page.on("console", hear)
    page.on("pageerror", lambda error: heard.append(str(error)))
    return heard


@pytest.fixture
def signed_in(page, live_server, transactional_db, complaints):
    """Logs a person in by the log-in page and hands the page back; nothing may complain."""

    def log_in(role="technician", **fields):
        person = make_user(role, **fields)
        page.goto(live_server.url + reverse("log_in"))
        page.get_by_label("Name").fill(person.username)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Log in").click()
        page.wait_for_url(live_server.url + "/")
        return page

    yield log_in
    assert complaints == []


@pytest.fixture
def shop(transactional_db):
    """A two-piece clamp-in vehicle, and everything for it on the shelf."""
    names.forget()
    settings = ShopSettings(pk=1, labour_price_cents=9000, labour_cost_cents=4500)
    settings.save()
    site = make_site(name="Quay", asks_logged_from=date(2020, 1, 1))
    application = make_application()
    parts = {
        kind: make_part(kind, number=f"T-{kind}", list_price_cents=price, construction="two_piece")
        for kind, price in (("body", 4200), ("stem", 1200), ("kit", 400), ("assembly", 4900))
    }
    for part in parts.values():
        make_fitment(application, part)
        make_stock(part, site, pieces=8, value_cents=8 * 1937)
    vehicle = make_vehicle(application, plate="GULL 42", in_service_on=date(2017, 5, 1))
    wheels = make_wheels(vehicle)
    yield {"site": site, "vehicle": vehicle, "wheels": wheels, **parts}
    names.forget()
