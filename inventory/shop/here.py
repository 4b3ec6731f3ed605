"""The site a person works at: chosen in the shell, else their home site, else the first one."""

from typing import cast

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest

from inventory.shop.models import Site

CHOSEN = "site"


def sites_open(request: HttpRequest) -> list[Site]:
    """The sites that sell, read once per request."""
    kept = vars(request)
    if "_sites_open" not in kept:
        kept["_sites_open"] = list(Site.objects.selling())
    return cast(list[Site], kept["_sites_open"])


def site_chosen(request: HttpRequest) -> Site | None:
    sites = {site.pk: site for site in sites_open(request)}
    chosen = request.session.get(CHOSEN, 0)
    home = getattr(request.user, "home_site_id", None) or 0
    return sites.get(chosen) or sites.get(home) or next(iter(sites.values()), None)


def site_here(request: HttpRequest) -> Site:
    """The site in hand, for pages that make no sense without one."""
    if site := site_chosen(request):
        return site
    raise PermissionDenied("This shop has no site yet. An owner adds the first one.")
