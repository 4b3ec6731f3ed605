"""A workbook loaded: checked whole, then written in one transaction, or not at all.

Checking alone does the same and rolls back, so that it promises exactly what loading will do.
"""

import gc
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from inventory.sheet import Changed, Refusal, Row, RowError, Saved, Sheet
from inventory.shop.models import ShopSettings
from shopparts.workbook.cells import Units
from shopparts.workbook.check import checked
from shopparts.workbook.faults import Fault, UnreadableError, as_clause
from shopparts.workbook.findings import Findings, Tally, Told
from shopparts.workbook.source import opened

LARGE_LOAD = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What a load or a check found and did. `saved` is what was written or would be."""

    faults: tuple[Fault, ...] = ()
    fault_count: int = 0
    notes: tuple[str, ...] = ()
    tallies: Mapping[str, Tally] = field(default_factory=dict)
    saved: Mapping[str, Saved] = field(default_factory=dict)
    changes: Mapping[str, list[Changed]] = field(default_factory=dict)
    written: bool = False


def load(
    path: Path,
    sheets: Mapping[str, Sheet],
    *,
    by: Any = None,
    only_check: bool = False,
    right_rows: bool = False,
    csv_sheet: str = "",
    told: Told | None = None,
    written: Callable[[Report], None] | None = None,
) -> Report:
    """Check a file and write it when every row is right, or with `right_rows` those that are.

    `told` is called with the title and the number of rows read so far, about every thousand rows;
    `written` in the transaction of what was written: what it raises undoes all of it.
    """
    with _rare_collections():
        return _load(
            path,
            sheets,
            by=by,
            only_check=only_check,
            right_rows=right_rows,
            csv_sheet=csv_sheet,
            told=told,
            written=written,
        )


@contextmanager
def _rare_collections() -> Iterator[None]:
    """Let the collector of cycles rest: hundreds of thousands of short-lived rows hold none.

    Its passes took a third of the time of a large load; what it misses meanwhile is bounded.
    """
    before = gc.get_threshold()
    gc.set_threshold(50_000, 20, 20)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def _load(
    path: Path,
    sheets: Mapping[str, Sheet],
    *,
    by: Any,
    only_check: bool,
    right_rows: bool,
    csv_sheet: str,
    told: Told | None,
    written: Callable[[Report], None] | None,
) -> Report:
    try:
        with opened(path, sheet=csv_sheet) as source:
            result = checked(source, sheets, units_of_the_shop(), told=told)
    except UnreadableError as broken:
        return Report(faults=(Fault(sheet="", expected=str(broken)),), fault_count=1)
    try:
        return _written(
            result, by=by, only_check=only_check, right_rows=right_rows, written=written
        )
    finally:
        result.close()


def units_of_the_shop() -> Units:
    shop = ShopSettings.objects.first() or ShopSettings()
    return Units(
        minor_digits=shop.minor_digits,
        pressure=shop.pressure_unit,
        torque=shop.torque_unit,
        currency=shop.currency,
        date_order=shop.date_order,
    )


def _written(
    result: Findings,
    *,
    by: Any,
    only_check: bool,
    right_rows: bool,
    written: Callable[[Report], None] | None,
) -> Report:
    if result.fault_count and not right_rows:
        return _report(result)
    saved: dict[str, Saved] = {}
    try:
        with transaction.atomic():
            for sheet in result.sheets:
                saved[sheet.title] = _save_sheet(result, sheet, by)
            _tell_the_planner(saved.values())
            report = _report(result, saved=saved, written=not only_check)
            if only_check:
                transaction.set_rollback(True)
            elif written is not None:
                written(report)
    except _RefusedError as refused:
        for fault in refused.faults:
            result.blame(fault)
        return _report(result)
    return report


def _report(result: Findings, **done: Any) -> Report:
    return Report(
        faults=tuple(result.faults),
        fault_count=result.fault_count,
        notes=tuple(result.notes),
        tallies=result.tallies,
        changes=result.changes,
        **done,
    )


def _tell_the_planner(saved: Iterable[Saved]) -> None:
    """PostgreSQL plans by what it last counted: right after a large load, by empty tables."""
    if connection.vendor == "postgresql" and sum(one.added for one in saved) >= LARGE_LOAD:
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


class _RefusedError(Exception):
    def __init__(self, faults: list[Fault]) -> None:
        super().__init__(*map(str, faults))
        self.faults = faults


def _save_sheet(result: Findings, sheet: Sheet, by: Any) -> Saved:
    numbers = array("l")
    resolved = result.keys.resolver(sheet)

    def rows() -> Iterator[Row]:
        for number, row in result.shelves[sheet.title].rows():
            numbers.append(number)
            yield resolved(row)

    try:
        with transaction.atomic():
            saved = sheet.save(rows(), by=by)
    except RowError as refused:
        raise _RefusedError(
            [_fault_of(sheet, numbers[refusal.index], refusal) for refusal in refused.refusals]
        ) from refused
    except ValidationError as refusal:
        sentences = [Fault(sheet=sheet.title, expected=as_clause(s)) for s in refusal.messages]
        raise _RefusedError(sentences) from refusal
    except IntegrityError as broken:
        # The net under the checks: something else was written between them and this moment.
        raise _RefusedError(
            [
                Fault(
                    sheet=sheet.title,
                    expected=f"the database refused the rows ({broken}); load the file again",
                )
            ]
        ) from broken
    result.keys.forget(sheet.title)
    return saved


def _fault_of(sheet: Sheet, row: int, refusal: Refusal) -> Fault:
    column = sheet.column(refusal.field)
    return Fault(
        sheet=sheet.title,
        row=row,
        column=column.heading if column else "",
        expected=as_clause(refusal.sentence),
    )
