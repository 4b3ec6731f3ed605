"""What every page's frame needs: the shop, the site in hand, the words of the navigation."""

from dataclasses import dataclass
from functools import partial
from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.functional import SimpleLazyObject

from inventory.shop.here import site_chosen, sites_open
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, holds

# A word appears when its page exists and the person may see it.
WORDS = (
    ("Today", "today", Role.TECHNICIAN),
    ("Fit", "fit", Role.TECHNICIAN),
    ("Jobs", "jobs:job_list", Role.TECHNICIAN),
    ("Stock", "inventory:shelf_list", Role.TECHNICIAN),
    ("Orders", "inventory:order_list", Role.PARTS_MANAGER),
    ("Money", "jobs:money", Role.OWNER),
)
# Pages that a word leads to and whose address does not begin with its own.
BELOW = {
    "Fit": ("/catalog/", "/applications/"),
    "Jobs": ("/vehicles/", "/lifetimes/", "/lots/", "/advice/"),
    "Stock": ("/scan/", "/counts/", "/transfers/", "/holds/", "/labels/", "/codes/"),
    "Orders": (
        "/plan/",
        "/claims/",
        "/suppliers/",
        "/price-lists/",
        "/rises/",
        "/range/",
        "/waves/",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    text: str
    address: str
    current: bool


def words(request: HttpRequest) -> list[Word]:
    shown = []
    for text, name, role in WORDS:
        if not holds(request.user, role):
            continue
        try:
            address = reverse(name)
        except NoReverseMatch:
            continue
        below = (address, *BELOW.get(text, ()))
        current = any(_leads_to(each, request.path) for each in below)
        shown.append(Word(text=text, address=address, current=current))
    return shown


def _leads_to(address: str, path: str) -> bool:
    return path == address or (address != "/" and path.startswith(address))


def shell(request: HttpRequest) -> dict[str, Any]:
    """All of it lazy: an error page that uses none of it must not depend on the database."""
    return {
        "shop": SimpleLazyObject(ShopSettings.load),
        "sites": SimpleLazyObject(partial(sites_open, request)),
        "site": SimpleLazyObject(partial(site_chosen, request)),
        "words": SimpleLazyObject(partial(words, request)),
    }
