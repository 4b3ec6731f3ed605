"""Posting by scanner alone: one input, each scan posted at once, a running list to undo from.

A number after a scan makes it that many in all; 0 takes it back. A bin's label puts that bin in
hand. What is in hand is kept in the page, so that two screens do not disturb each other.
"""

from collections.abc import Callable
from itertools import dropwhile, takewhile
from typing import Any
from urllib.parse import urlencode

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from inventory.action_form import ActionForm
from inventory.catalog.models import Part
from inventory.ledger.actions import Occasion, issue_stock, move_stock, receive_stock, undo_posting
from inventory.ledger.costs import last_cost
from inventory.ledger.forms.scan import ScanForm
from inventory.ledger.lots import share_of
from inventory.ledger.models import Lot, Posting
from inventory.ledger.scanned import Scanned, scanned
from inventory.ledger.views.sent import (
    bin_asked,
    pk_asked,
    posting_to_undo,
    refused,
    site_of_form,
)
from inventory.shop.models import Bin, Site
from inventory.shop.roles import Role, role_required

form_page = require_http_methods(["GET", "HEAD", "POST"])

REMEMBERED = "scanned"
ROWS = 12
SCANNED = ("scan_issue", "scan_receive", "scan_move")
MOST_DIGITS = 3
Post = Callable[[Part, int], Posting]


def _remembered(request: HttpRequest, name: str) -> list[int]:
    kept: dict[str, list[int]] = request.session.get(REMEMBERED, {})
    return kept.get(name, [])


def _remember(request: HttpRequest, name: str, posting: Posting) -> None:
    """The latest postings of this browser, newest first, for the list below the input."""
    latest = [posting.pk, *(pk for pk in _remembered(request, name) if pk != posting.pk)]
    kept = request.session.get(REMEMBERED, {})
    request.session[REMEMBERED] = kept | {name: latest[:ROWS]}


def _running(request: HttpRequest, name: str) -> list[Posting]:
    postings = Posting.objects.select_related("undone_by").prefetch_related(
        "movements__part", "movements__lot__bin"
    )
    found = postings.in_bulk(_remembered(request, name))
    return [found[pk] for pk in _remembered(request, name) if pk in found]


def _page(
    request: HttpRequest, name: str, form: ScanForm, read: Scanned | None = None, **in_hand: Any
) -> HttpResponse:
    """The input is empty whatever was scanned, or a scanner would add to what stands there."""
    running = _running(request, name)
    occasion = form["occasion"].value()
    shown = {
        "form": ScanForm(site=form.shown_at, initial={"occasion": occasion}),
        "refused": form.errors.values() if form.is_bound else (),
        "read": read,
        "rows": [(posting, list(posting.movements.all())[-1]) for posting in running],
        "last": running[0].pk if running else "",
        "name": name,
    }
    return render(request, f"inventory/{name}.html", shown | in_hand)


def _again(name: str, **in_hand: Any) -> HttpResponse:
    """The page anew, ready for the next scan."""
    kept = urlencode({word: value for word, value in in_hand.items() if value})
    return redirect(f"{reverse(f'inventory:{name}')}?{kept}" if kept else f"inventory:{name}")


def _how_many(read: Scanned) -> int | None:
    """A short number that is no code of a part or bin says how many."""
    short = read.text.isascii() and read.text.isdigit() and len(read.text) <= MOST_DIGITS
    return int(read.text) if short and not read.parts and not read.bin else None


def _form(request: HttpRequest, site: Site) -> ScanForm:
    occasion = request.GET.get("occasion", "")[:40]
    return ScanForm(request.POST or None, site=site, initial={"occasion": occasion})


def _key(form: ScanForm, part: Part, pieces: int) -> str:
    """A scanner may be quicker than the page: another part scanned into the same form is posted."""
    return f"{form.cleaned_data['key'][:40]}/{part.pk}x{pieces}"


def _scan(
    request: HttpRequest, name: str, form: ScanForm, site: Site, bin: Bin | None, post: Post
) -> HttpResponse:
    """Read what was scanned: a bin to keep in hand, a number, or a part to post one of."""
    if not form.is_bound or not form.is_valid():
        return _page(request, name, form, bin=bin)
    read, occasion = scanned(form.cleaned_data["code"], site), form.cleaned_data["occasion"]
    if read.bin:
        return _again(name, occasion=occasion, bin=read.bin.pk)
    number = _how_many(read)
    posting = None
    if number is not None:
        posting = form.submit(_in_all, request, name, form.cleaned_data["key"], number, post)
    elif read.part:
        posting = form.submit(post, read.part, 1)
    if form.errors or (number is None and read.part is None):
        return _page(request, name, form, read, bin=bin)
    if posting:
        _remember(request, name, posting)
    return _again(name, occasion=occasion, bin=bin and bin.pk)


def _in_all(request: HttpRequest, name: str, key: str, number: int, post: Post) -> Posting | None:
    """As many more as a number asks for beyond what was scanned; 0 takes the last one back."""
    run = _run(request, name)
    if not run:
        raise ValidationError(f"{number} of what? Scan a part first, then how many.")
    if number == 0:
        undo_posting(run[0], by=request.user, key=key)
        return None
    moved = [movement for posting in run for movement in posting.movements.all()]
    there = abs(sum(movement.pieces for movement in moved))
    if number < there:
        raise ValidationError(f"{there} are posted already; undo that below, then scan again.")
    return post(moved[0].part, number - there) if number > there else None


def _run(request: HttpRequest, name: str) -> list[Posting]:
    """The last posting the page showed, and those of the same part that came right before it."""
    running, last = _running(request, name), pk_asked(request, "last")
    latest = dropwhile(lambda posting: posting.pk != last, running)
    standing = list(takewhile(lambda posting: not hasattr(posting, "undone_by"), latest))
    parts = [posting.movements.all()[0].part_id for posting in standing]
    return [
        p
        for p, part in takewhile(
            lambda each: each[1] == parts[0], zip(standing, parts, strict=True)
        )
    ]


@form_page
def scan_issue(request: HttpRequest) -> HttpResponse:
    site = site_of_form(request)
    form = _form(request, site)

    def post(part: Part, pieces: int) -> Posting:
        return issue_stock(
            part,
            site=site,
            pieces=pieces,
            by=request.user,
            key=_key(form, part, pieces),
            occasion=Occasion(words=form.cleaned_data["occasion"]),
        )

    return _scan(request, "scan_issue", form, site, None, post)


@form_page
@role_required(Role.PARTS_MANAGER)
def scan_receive(request: HttpRequest) -> HttpResponse:
    """What comes without an order, at the cost it was last bought at."""
    site = site_of_form(request)
    form, bin = _form(request, site), bin_asked(request, site)

    def post(part: Part, pieces: int) -> Posting:
        cost = last_cost(part, site)
        if cost is None:
            raise ValidationError(
                f"{part} was never bought, so its cost is not known; "
                "find it under Stock and receive it there."
            )
        return receive_stock(
            part,
            site=site,
            pieces=pieces,
            value_cents=share_of(cost.cents, pieces, cost.pieces),
            by=request.user,
            key=_key(form, part, pieces),
            bin=bin,
        )

    return _scan(request, "scan_receive", form, site, bin, post)


@form_page
def scan_move(request: HttpRequest) -> HttpResponse:
    """A part, how many if not all of its lot, and the bin they go to."""
    site = site_of_form(request)
    form, lot, pieces = _form(request, site), _lot_asked(request, site), pk_asked(request, "pieces")
    in_hand: dict[str, Any] = {"lot": lot, "pieces": pieces, "others": _others(lot)}
    if not form.is_bound or not form.is_valid():
        return _page(request, "scan_move", form, **in_hand)
    read = scanned(form.cleaned_data["code"], site)
    if lot and (number := _how_many(read)):
        return _again("scan_move", lot=lot.pk, pieces=number)
    if read.part:
        if found := _lot_to_move(read.part, site):
            return _again("scan_move", lot=found.pk)
        form.add_error(None, f"None of {read.part} is at {site}; receive it first.")
    elif read.bin and lot:
        if _put_in_bin(request, form, lot, pieces, read.bin):
            return _again("scan_move")
    elif read.bin:
        form.add_error(None, "Scan the part first, then the bin it goes to.")
    return _page(request, "scan_move", form, read, **in_hand)


def _put_in_bin(
    request: HttpRequest, form: ScanForm, lot: Lot, pieces: int | None, bin: Bin
) -> Posting | None:
    posting = form.submit(
        move_stock,
        lot,
        pieces=pieces or lot.pieces_left,
        by=request.user,
        key=form.cleaned_data["key"],
        bin=bin,
    )
    if posting:
        _remember(request, "scan_move", posting)
    return posting


def _lot_asked(request: HttpRequest, site: Site) -> Lot | None:
    pk, lots = pk_asked(request, "lot"), Lot.objects.select_related("bin", "shelf__part")
    return lots.filter(pk=pk, shelf__site=site).first() if pk else None


def _others(lot: Lot | None) -> list[Lot]:
    """The other lots of a part at the site, any of which might be meant."""
    if lot is None:
        return []
    others = Lot.objects.left().filter(shelf=lot.shelf_id).exclude(pk=lot.pk)
    return list(others.select_related("bin"))


def _lot_to_move(part: Part, site: Site) -> Lot | None:
    """What lies in no bin yet first, else the oldest."""
    lots = Lot.objects.left().filter(shelf__part=part, shelf__site=site).oldest_first()
    return lots.filter(bin=None).first() or lots.first()


@require_POST
def scan_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """From the running list, back to it. A posting is undone once, so its own number is the key."""
    name, form = request.POST.get("name", ""), ActionForm(request.POST)
    posting = posting_to_undo(request, pk)
    form.submit(undo_posting, posting, by=request.user, key=f"undo/{pk}")
    return refused(
        request, form, f"inventory:{name}" if name in SCANNED else "inventory:shelf_list"
    )
