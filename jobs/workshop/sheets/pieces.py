"""The sheet of the pieces that sat in wheels: the lives of bodies, stems and seals."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from inventory.catalog.sheets import PART
from inventory.ledger.models import Lot
from inventory.sheet import Column, Kind, Refusal, Row, RowError, Saved, Sheet
from inventory.sheet.records import record_sheet, runs
from jobs.workshop.models import Fitted
from jobs.workshop.sheets.rows import filled, linked
from jobs.workshop.sheets.wheels import WHEEL

_PIECE = partial(Column, to="Fitted", example="EX-F-16")

_PIECES = record_sheet(
    Fitted,
    title="Fitted",
    one="fitted piece",
    note="The life of one body, stem or seal on one wheel. A piece moved to another rim "
    "begins a new row that continues the old one; the halves of a one-piece sensor are "
    "joined.",
    key=("key",),
    columns=(
        Column("Key", "key", also=("our key",), example="EX-F-17"),
        WHEEL(),
        Column("Kind", "kind", also=("piece",), example="Sensor body"),
        PART(required=False),
        Column(
            "Lot",
            "lot",
            kind=Kind.TEXT,
            path="lot__key",
            longest=72,
            help="Key of the ledger's lot.",
        ),
        Column("Printed code", "printed_code"),
        Column("Since", "since", also=("from", "fitted on"), example="2024-10-12"),
        Column("How known", "since_known", example="Fitted by us"),
        Column("First seen on", "first_seen_on", example="2024-10-12"),
        Column("Last seen good on", "last_good_on"),
        Column("Ended on", "ended_on"),
        Column("Why it ended", "end_reason", also=("end reason",)),
        _PIECE("Continues", "continues", path="continues__key"),
        _PIECE("Joined with", "joined_with", path="joined_with__key"),
        Column("By job", "by_job", to="Jobs", path="by_job__key", example="EX-J-17"),
        Column("Ended by job", "ended_by_job", to="Jobs", path="ended_by_job__key"),
    ),
)


def _lots_named(rows: Sequence[Row]) -> dict[str, int]:
    named = {row["lot"] for row in rows if row.get("lot")}
    return dict(Lot.objects.filter(key__in=named).values_list("key", "pk"))


def _with_lots(rows: Sequence[Row]) -> list[Row]:
    """A lot that comes with the same workbook is not there while its pieces are checked."""
    lots = _lots_named(rows)
    return [row | {"lot": lots.get(row["lot"])} if row.get("lot") else row for row in rows]


def _of_known_lots(sheet: Sheet) -> Sheet:
    """Saved after the postings, so that by then a lot without a record is a fault."""

    def save(rows: Iterable[Row], *, by: Any) -> Saved:
        return sheet.save(checked(rows), by=by)

    def checked(rows: Iterable[Row]) -> Iterator[Row]:
        given = 0
        for run in runs(rows):
            lots = _lots_named(run)
            for index, row in enumerate(run, start=given):
                if row.get("lot") and row["lot"] not in lots:
                    raise RowError(Refusal(index=index, field="lot", sentence=_unknown(row["lot"])))
                yield row
            given += len(run)

    return replace(sheet, save=save, after=("Postings",))


def _unknown(lot: str) -> str:
    return f"No posting opened the lot “{lot}”; correct it, or leave it blank."


FITTED = _of_known_lots(linked(filled(_PIECES, _with_lots), Fitted, "continues", "joined_with"))

SHEETS = (FITTED,)
