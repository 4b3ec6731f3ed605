"""What is oldest on the shelves, past its shelf life, or has not moved in a year."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.ledger.age import not_moved, oldest, past_shelf_life
from inventory.shop.here import site_here

ROWS_A_PAGE = 100
SHOWN: dict[str, tuple[str, Any]] = {
    "": ("Oldest", oldest),
    "past": ("Past their shelf life", past_shelf_life),
    "still": ("Not moved in a year", not_moved),
}


@require_safe
def shelf_age(request: HttpRequest) -> HttpResponse:
    site = site_here(request)
    show = request.GET.get("show", "") if request.GET.get("show") in SHOWN else ""
    page = Paginator(SHOWN[show][1](site), ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "show": show,
        "page": page,
        "shown": [(word, words) for word, (words, _) in SHOWN.items()],
        "today": site.today(),
    }
    return render(request, "inventory/shelf_age.html", context)
