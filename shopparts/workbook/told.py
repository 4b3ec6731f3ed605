"""A report as its page and a run keep it: plain words and numbers, nothing that needs the file."""

from collections.abc import Mapping, Sequence
from typing import Any

from inventory.sheet import Changed, Column, Sheet
from shopparts.workbook.faults import Fault, quoted
from shopparts.workbook.load import Report, units_of_the_shop
from shopparts.workbook.shown import cell_writer, heading

FAULTS_TOLD = 200


def ending(report: Report) -> str:
    """What a check or a load came to, in a sentence."""
    rows = sum(tally.rows for tally in report.tallies.values())
    if report.written or not report.fault_count:
        did = "Loaded" if report.written else "All right: it would load"
        added = sum(saved.added for saved in report.saved.values())
        changed = sum(saved.changed for saved in report.saved.values())
        same = sum(saved.same for saved in report.saved.values())
        left = rows - added - changed - same
        out = f", {left:,} left out" if report.written and left else ""
        return f"{did} {rows:,} rows: {added:,} new, {changed:,} changed, {same:,} the same{out}."
    faults = "1 fault" if report.fault_count == 1 else f"{report.fault_count:,} faults"
    return f"Nothing was written: {faults} in {rows:,} rows."


def told(report: Report, sheets: Mapping[str, Sheet]) -> dict[str, Any]:
    return {
        "written": report.written,
        "sheets": [
            {"title": title, "rows": tally.rows, "right": tally.right, "waiting": tally.waiting}
            | _saved(report, title)
            for title, tally in report.tallies.items()
        ],
        "fault_count": report.fault_count,
        "faults": _by_sheet(report.faults[:FAULTS_TOLD]),
        "faults_told": min(report.fault_count, FAULTS_TOLD),
        "right": sum(tally.right for tally in report.tallies.values()),
        "notes": list(report.notes),
        "changes": [
            {"title": title, "lines": _changes(sheets[title], changed, sheets)}
            for title, changed in report.changes.items()
            if changed
        ],
    }


def _saved(report: Report, title: str) -> dict[str, int]:
    saved = report.saved.get(title)
    return {"added": saved.added, "changed": saved.changed, "same": saved.same} if saved else {}


def _by_sheet(faults: Sequence[Fault]) -> list[dict[str, Any]]:
    groups: dict[str, list[dict[str, Any]]] = {}
    for fault in faults:
        groups.setdefault(fault.sheet, []).append(
            {
                "row": fault.row,
                "column": fault.column,
                "said": quoted(fault.said) if fault.said else "",
                "expected": fault.expected[:1].upper() + fault.expected[1:] + ".",
            }
        )
    return [{"title": title, "lines": lines} for title, lines in groups.items()]


def _changes(
    sheet: Sheet, changed: Sequence[Changed], sheets: Mapping[str, Sheet]
) -> list[dict[str, str]]:
    """Old → new, each value as a cell would show it, each record by its key."""
    shown = _Shown(sheets)
    return [
        {
            "record": shown.record(sheet, one.pk),
            "column": shown.heading(sheet, one.field),
            "before": shown.value(sheet, one.field, one.before),
            "after": shown.value(sheet, one.field, one.after),
        }
        for one in changed
    ]


class _Shown:
    """Keys of records, looked up once a sheet."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        self._sheets = sheets
        self._digits = units_of_the_shop().minor_digits
        self._keys: dict[str, dict[int, str]] = {}

    def record(self, sheet: Sheet, pk: Any) -> str:
        if sheet.title not in self._keys:
            self._keys[sheet.title] = {
                known: " ".join(map(str, key)) for key, known in sheet.known()
            }
        return self._keys[sheet.title].get(pk, "") or sheet.one

    def heading(self, sheet: Sheet, field: str) -> str:
        column = _column(sheet, field)
        return heading(column) if column else field

    def value(self, sheet: Sheet, field: str, value: Any) -> str:
        column = _column(sheet, field)
        if value is None or value == "":
            return "blank"
        if column is None:
            return str(value)
        if column.to and isinstance(value, int):
            return self.record(self._sheets[column.to], value)
        if column.flags:
            return "yes" if value else "no"
        return str(cell_writer(column, self._digits)(value))


def _column(sheet: Sheet, field: str) -> Column | None:
    """The column of a field; a reference is compared by the name of its key in the database."""
    return (
        sheet.column(field)
        or sheet.column(field.removesuffix("_id"))
        or next((c for c in sheet.columns if field in {name for _, name in c.flags}), None)
    )
