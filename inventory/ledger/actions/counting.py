"""Counting many shelves without stopping the bay: a sheet, its lines, and what comes of each.

Each line is compared with the ledger as it stood when the line was counted, so that issues may go
on meanwhile. What agrees is posted at once; what differs waits for a second look.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max, Sum
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.ledger.actions.correcting import count_stock, pieces_in
from inventory.ledger.costs import last_cost
from inventory.ledger.entry import Occasion
from inventory.ledger.keys import insert_once
from inventory.ledger.lots import share_of
from inventory.ledger.models import Condition, CountLine, CountSheet, Lot, Movement
from inventory.ledger.shelves import check_bin, check_pieces, lock_shelves
from inventory.shop.models import Bin, ShopSettings, Site
from inventory.shop.roles import Role, holds


def start_count(
    site: Site, *, title: str, by: Any, key: str, bins: Iterable[Bin] = (), part: Part | None = None
) -> CountSheet:
    """A sheet of what lies in some bins, or of one part in all bins together."""
    bins = list(bins)
    if not bins and part is None:
        raise ValidationError("Nothing to count was chosen; choose bins, or a part.")
    with transaction.atomic():
        sheet = CountSheet(key=key, site=site, title=title[:80], by=by)
        if not insert_once(sheet):
            return CountSheet.objects.get(key=key)
        _refuse_counted_now(sheet, bins, part)
        lines = [CountLine(sheet=sheet, part=part)] if part else _lines(sheet, bins)
        CountLine.objects.bulk_create(lines)
    return sheet


def _refuse_counted_now(sheet: CountSheet, bins: list[Bin], part: Part | None) -> None:
    open_lines = CountLine.objects.filter(sheet__closed_at=None, sheet__site=sheet.site)
    same = open_lines.filter(bin__in=bins) if bins else open_lines.filter(part=part, bin=None)
    if line := same.exclude(sheet=sheet).select_related("sheet", "part", "bin").first():
        raise ValidationError(
            f"{line.bin or line.part} is being counted already, on the sheet “{line.sheet}”; "
            "close that one first."
        )


def _lines(sheet: CountSheet, bins: list[Bin]) -> list[CountLine]:
    there = Lot.objects.left().filter(bin__in=bins, condition__in=Condition.usable())
    pairs = there.order_by().values_list("bin", "shelf__part").distinct()
    return [CountLine(sheet=sheet, bin_id=bin, part_id=part) for bin, part in pairs]


def count_line(
    sheet: CountSheet,
    part: Part,
    *,
    counted: int,
    by: Any,
    key: str,
    bin: Bin | None = None,
    at: datetime | None = None,
) -> CountLine:
    """Write down what was counted, and compare it with what lay there at that instant.

    A part that is not on the sheet is added to it: it was found where nobody looked for it.
    """
    check_pieces(max(1, counted), part)
    check_bin(sheet.site, bin)
    _refuse_closed(sheet)
    with transaction.atomic():
        lock_shelves([(part.pk, sheet.site_id)])
        line, _ = CountLine.objects.get_or_create(sheet=sheet, part=part, bin=bin)
        if line.counted_key == key:
            return line
        line.counted, line.counted_by, line.counted_key = counted, by, key
        line.seen_at, line.posting = at or timezone.now(), None
        line.compared_to = Movement.objects.aggregate(last=Max("pk"))["last"] or 0
        line.difference = counted - pieces_in(part, sheet.site, bin, line.seen_at)
        line.save()
        if line.difference == 0:
            _post(line, by=by, unit_cents=None)
    return line


def settle_line(line: CountLine, *, by: Any, unit_cents: int | None = None) -> CountLine:
    """Correct the shelf to what was counted; an owner confirms what is worth more than the limit.

    A line that was settled stays as it is.
    """
    sheet = line.sheet
    with transaction.atomic():
        lock_shelves([(line.part_id, sheet.site_id)])
        line = (
            CountLine.objects.with_late()
            .select_related("sheet__site", "part", "bin")
            .get(pk=line.pk)
        )
        if line.posting_id:
            return line
        _refuse_closed(sheet)
        if line.counted is None or line.late:
            raise ValidationError(f"{line} is to be counted again first; count it.")
        line.difference = line.counted - pieces_in(line.part, sheet.site, line.bin, line.seen_at)
        if needs_owner(line, unit_cents) and not holds(by, Role.OWNER):
            raise ValidationError(
                f"{line} differs by more than a count may correct alone; "
                "count again, or ask an owner to confirm it."
            )
        _post(line, by=by, unit_cents=unit_cents)
    return line


def needs_owner(line: CountLine, unit_cents: int | None) -> bool:
    """Whether the pieces missing or found are worth more than the limit of the shop."""
    return _worth(line, unit_cents) > ShopSettings.load().count_confirm_cents


def _worth(line: CountLine, unit_cents: int | None) -> int:
    """At what the pieces on the shelf cost, else as last bought, else as told."""
    pieces, site = abs(line.difference or 0), line.sheet.site
    lots = Lot.objects.left().filter(shelf__part=line.part_id, shelf__site=site)
    there = lots.aggregate(pieces=Sum("pieces_left"), cents=Sum("cents_left"))
    if there["pieces"]:
        return share_of(there["cents"], pieces, there["pieces"])
    if cost := last_cost(line.part, site):
        return share_of(cost.cents, pieces, cost.pieces)
    return pieces * (unit_cents or 0)


def _post(line: CountLine, *, by: Any, unit_cents: int | None) -> None:
    assert line.counted is not None
    line.posting = count_stock(
        line.part,
        site=line.sheet.site,
        counted=line.counted,
        by=by,
        key=f"count/{line.pk}/{line.counted_key}"[:64],
        bin=line.bin,
        unit_cents=unit_cents,
        seen_at=line.seen_at,
        occasion=Occasion(words=f"Count {line.sheet}"[:80]),
    )
    line.save()


def close_count(sheet: CountSheet) -> CountSheet:
    """Put the sheet away; what was not counted stays as it is, what differs is settled first."""
    lines = CountLine.objects.for_count_sheet().filter(sheet=sheet)
    waiting = [line for line in lines if line.differs or line.is_reopened]
    if waiting:
        raise ValidationError(
            f"{waiting[0]} is not settled; count it again or correct the shelf to it first."
        )
    CountSheet.objects.filter(pk=sheet.pk, closed_at=None).update(closed_at=timezone.now())
    sheet.refresh_from_db()
    return sheet


def _refuse_closed(sheet: CountSheet) -> None:
    if sheet.closed_at is not None:
        raise ValidationError(f"The sheet “{sheet}” is closed; start another count.")
