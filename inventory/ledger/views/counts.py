"""Counting while the bay works: sheets of bins or of a part, filled in blind by scanner or hand."""

from collections import defaultdict
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.ledger.actions import close_count, count_line, settle_line, start_count
from inventory.ledger.forms.counts import CountedForm, CountStartForm, SettleForm
from inventory.ledger.models import CountLine, CountSheet, Lot
from inventory.ledger.scanned import Scanned, scanned
from inventory.ledger.views.sent import bin_asked, pk_asked, refused, site_posted
from inventory.shop.here import site_here
from inventory.shop.models import Bin, BinKind, ShopSettings, Site
from inventory.shop.roles import Role, holds

CLOSED_SHOWN = 10
LIST = "inventory:count_list"
Lines = list[CountLine]


@require_safe
def count_list(request: HttpRequest) -> HttpResponse:
    site = site_here(request)
    sheets = CountSheet.objects.filter(site=site).select_related("by")
    counted = Count("lines", filter=Q(lines__counted__isnull=False))
    sheets = sheets.annotate(lines_in_all=Count("lines"), lines_counted=counted)
    context = {
        "open": sheets.filter(closed_at=None),
        "closed": sheets.exclude(closed_at=None)[:CLOSED_SHOWN],
        "form": CountStartForm(site=site),
    }
    return render(request, "inventory/count_list.html", context)


@require_POST
def count_start(request: HttpRequest) -> HttpResponse:
    site = site_posted(request)
    form = CountStartForm(request.POST, site=site)
    if form.is_valid() and (sheet := form.submit(_start, request, site, form.cleaned_data)):
        return redirect("inventory:count_sheet", sheet.pk)
    return refused(request, form, LIST)


def _start(request: HttpRequest, site: Site, said: dict[str, Any]) -> CountSheet:
    part = None
    if said["part"]:
        read = scanned(said["part"], site)
        if (part := read.part) is None:
            raise ValidationError(
                f"“{read.text}” names {len(read.parts) or 'no'} parts; write the number of one."
            )
    bins = [] if part else list(said["bins"])
    title = part.title if part else "Bins " + ", ".join(bin.code for bin in bins)
    return start_count(site, title=title, bins=bins, part=part, by=request.user, key=said["key"])


def _sheet(pk: int) -> CountSheet:
    return get_object_or_404(CountSheet.objects.select_related("site"), pk=pk)


@require_safe
def count_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = _sheet(pk)
    lines = list(CountLine.objects.for_count_sheet().filter(sheet=sheet))
    read = scanned(request.GET.get("code", "")[:60], sheet.site)
    bin = read.bin or bin_asked(request, sheet.site)
    in_hand = _in_hand(request, read, bin, sheet, lines)
    context = {
        "sheet": sheet,
        "lines": lines,
        "to_count": [line for line in lines if line.counted is None],
        "differ": _with_trays([line for line in lines if line.differs], sheet.site),
        "reopened": [line for line in lines if line.is_reopened],
        "done": [line for line in lines if line.is_done],
        "read": read,
        "bin": bin,
        "settle": SettleForm(
            shop=ShopSettings.load(), sees_cost=holds(request.user, Role.PARTS_MANAGER)
        ),
    }
    return render(request, "inventory/count_sheet.html", context | in_hand)


def _in_hand(
    request: HttpRequest, read: Scanned, bin: Bin | None, sheet: CountSheet, lines: Lines
) -> dict[str, Any]:
    """The form for what was scanned or chosen; where it lies in several bins, which line first."""
    asked = [line for line in lines if line.pk == pk_asked(request, "line")]
    part = asked[0].part if asked else read.part
    if part is None:
        return {}
    listed = [line for line in lines if line.part_id == part.pk]
    meant = asked or [line for line in listed if line.bin_id in {None, bin and bin.pk}]
    if bin is None and not meant:
        meant = listed
    if len(meant) != 1 and bin is None:
        return {"which": meant, "part": part}
    where = meant[0].bin if meant else bin
    form = CountedForm(site=sheet.site, initial={"part": part.pk, "bin": where and where.pk})
    elsewhere = [] if meant else listed
    return {"part": part, "part_bin": where, "counted": form, "elsewhere": elsewhere}


def _with_trays(lines: Lines, site: Site) -> list[tuple[CountLine, list[Lot]]]:
    """Beside each difference, what of the part lies in the job trays."""
    lots = Lot.objects.left().filter(
        shelf__site=site,
        shelf__part__in=[line.part_id for line in lines],
        bin__kind=BinKind.TRAY,
    )
    trays: defaultdict[int, list[Lot]] = defaultdict(list)
    for lot in lots.select_related("bin", "shelf"):
        trays[lot.shelf.part_id].append(lot)
    return [(line, trays[line.part_id]) for line in lines]


def _back(sheet: CountSheet, bin: Bin | None = None) -> str:
    address = reverse("inventory:count_sheet", args=[sheet.pk])
    return f"{address}?bin={bin.pk}" if bin else address


@require_POST
def count_enter(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = _sheet(pk)
    form = CountedForm(request.POST, site=sheet.site)
    if not form.is_valid():
        return refused(request, form, _back(sheet))
    said = form.cleaned_data
    back = _back(sheet, bin_asked(request, sheet.site, "in_hand"))
    line = form.submit(
        count_line,
        sheet,
        said["part"],
        counted=said["counted"],
        by=request.user,
        key=said["key"],
        bin=said["bin"],
        at=said["seen"],
    )
    if line and line.posting_id:
        messages.success(request, f"{line}: {line.counted} counted, as the ledger says.")
    return refused(request, form, back)


@require_POST
def count_settle(request: HttpRequest, pk: int, line: int) -> HttpResponse:
    sees_cost = holds(request.user, Role.PARTS_MANAGER)
    counted = get_object_or_404(CountLine.objects.select_related("sheet"), pk=line, sheet=pk)
    form = SettleForm(request.POST, shop=ShopSettings.load(), sees_cost=sees_cost)
    back = _back(counted.sheet)
    if form.is_valid():
        done = form.submit(settle_line, counted, by=request.user, unit_cents=form.unit_cents())
        if done:
            messages.success(request, f"{done}: corrected to {done.counted}.")
            return redirect(back)
    return refused(request, form, back)


@require_POST
def count_close(request: HttpRequest, pk: int) -> HttpResponse:
    sheet, form = _sheet(pk), SettleForm(request.POST, shop=ShopSettings.load(), sees_cost=False)
    closed = form.submit(close_count, sheet) if form.is_valid() else None
    if closed:
        return redirect(LIST)
    return refused(request, form, _back(sheet))
