"""The ledger's sheets of the workbook: postings by their movements, asks, outcomes, holds.

What was posted never changes, so a row already recorded is left alone and one that differs is
refused; a correction is a posting of its own.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from inventory.catalog.sheets import PART
from inventory.ledger.actions.bulk import MovementRow, RefusedRowError, record_postings
from inventory.ledger.models import (
    Ask,
    AskOutcome,
    Condition,
    Hold,
    Movement,
    Posting,
    PostingKind,
    Shelf,
)
from inventory.ledger.shelves import Delta, change_shelf, lock_shelves, refusal
from inventory.sheet import Column, Key, Kind, Refusal, Row, RowError, Saved, Sheet
from inventory.sheet.records import record_sheet
from inventory.shop.models import Site
from inventory.shop.sheets import SITE

BY = partial(Column, "By", "by", to="People", path="by__username", required=False, example="robin")


def _movements() -> Iterator[Row]:
    asked = set(AskOutcome.objects.order_by().values_list("posting", flat=True))
    for one in (
        Movement.objects.order_by("pk")
        .select_related("posting__by", "posting__undoes", "lot__bin", "part", "site", "of__posting")
        .iterator(1000)
    ):
        posting, lot = one.posting, one.lot
        yield {
            "key": posting.key,
            "kind": posting.kind,
            "happened_at": posting.happened_at,
            "recorded_at": posting.recorded_at,
            "occasion": posting.occasion,
            "occasion_on": posting.occasion_on,
            "words": posting.words,
            "by": posting.by.username if posting.by else None,
            "part": one.part.number,
            "site": one.site.code,
            "pieces": one.pieces,
            "cents": one.cents,
            "lot": lot.key,
            "bin": lot.bin.code if lot.bin else None,
            "made_on": lot.made_on,
            "received_on": lot.received_on,
            "code": lot.maker_code,
            "condition": lot.condition,
            "prepared_for": lot.prepared_for,
            "came_from": lot.came_from,
            "of": f"{one.of.posting.key}/{one.of.number}" if one.of else "",
            "undoes": posting.undoes.key if posting.undoes else "",
            "answers_ask": posting.pk in asked,
        }


def _known() -> Iterator[tuple[Key, int]]:
    rows = Posting.objects.order_by().values_list("pk", "key")
    return (((key,), pk) for pk, key in rows.iterator(1000))


def _save_postings(rows: Iterable[Row], *, by: Any) -> Saved:
    """Rows of postings that are there already are left alone."""
    added: list[MovementRow] = []
    same = 0
    for index, row in enumerate(rows):
        if row["pk"] is not None:
            same += 1
            continue
        added.append(_movement(index, row))
    try:
        record_postings(added)
    except RefusedRowError as refused:
        one = Refusal(index=refused.index, field="pieces", sentence=refused.sentence)
        raise RowError(one) from refused
    return Saved(added=len(added), same=same)


def _movement(index: int, row: Row) -> MovementRow:
    return MovementRow(
        index=index,
        key=row["key"],
        kind=row["kind"],
        happened_at=row["happened_at"],
        recorded_at=row.get("recorded_at") or row["happened_at"],
        part_id=row["part"],
        site_id=row["site"],
        pieces=row["pieces"],
        cents=row.get("cents"),
        lot=row.get("lot") or "",
        of=row.get("of") or "",
        occasion=row.get("occasion") or "",
        occasion_on=row.get("occasion_on"),
        words=row.get("words") or "",
        by_id=row.get("by"),
        bin_id=row.get("bin"),
        made_on=row.get("made_on"),
        received_on=row.get("received_on"),
        maker_code=row.get("code") or "",
        condition=row.get("condition") or Condition.SEALED,
        prepared_for=row.get("prepared_for") or "",
        came_from=row.get("came_from") or "",
        undoes=row.get("undoes") or "",
        answers_ask=bool(row.get("answers_ask")),
    )


POSTINGS = Sheet(
    title="Postings",
    one="posting",
    note="Everything that happened to stock, a row for each movement; rows of one posting share "
    "its key. They are recorded in order of happening and never change.",
    key=("key",),
    many=True,
    columns=(
        Column("Key", "key", kind=Kind.TEXT, required=True, longest=64, example="EX-P-17"),
        Column(
            "Kind",
            "kind",
            kind=Kind.CHOICE,
            required=True,
            choices=tuple((str(v), str(w)) for v, w in PostingKind.choices),
            example="Received",
        ),
        Column(
            "Happened at",
            "happened_at",
            kind=Kind.INSTANT,
            required=True,
            example="2026-03-09T14:05:00+00:00",
        ),
        Column("Recorded at", "recorded_at", kind=Kind.INSTANT),
        Column("Occasion", "occasion", kind=Kind.TEXT, default="", longest=80, example="EX-J-17"),
        Column("Occasion on", "occasion_on", kind=Kind.DATE),
        Column("Words", "words", kind=Kind.TEXT, default="", longest=200),
        BY(kind=Kind.TEXT),
        PART(required=True),
        SITE(required=True),
        Column("Pieces", "pieces", kind=Kind.WHOLE, required=True, example=12,
               help="Below 0 for what leaves."),
        Column("Value", "cents", kind=Kind.MONEY, also=("cost",), example="148.44",
               help="Of all these pieces. Blank: worked out from what lies there."),
        Column("Lot", "lot", kind=Kind.TEXT, default="", longest=72,
               help="Blank: oldest first, or a lot of its own."),
        Column("Bin", "bin", kind=Kind.TEXT, to="Bins", beside=("site",), path="bin__code"),
        Column("Made on", "made_on", kind=Kind.DATE),
        Column("Received on", "received_on", kind=Kind.DATE),
        Column("Code as printed", "code", kind=Kind.TEXT, default="", longest=40),
        Column(
            "Condition",
            "condition",
            kind=Kind.CHOICE,
            default=Condition.SEALED.value,
            choices=tuple((str(v), str(w)) for v, w in Condition.choices),
        ),
        Column("Prepared for", "prepared_for", kind=Kind.TEXT, default="", longest=80),
        Column("Came from", "came_from", kind=Kind.TEXT, default="", longest=80),
        Column("Answers", "of", kind=Kind.TEXT, default="", longest=72,
               help="Key and number of the movement it returns, undoes or corrects: EX-P-17/1."),
        Column("Undoes", "undoes", kind=Kind.TEXT, default="", longest=64),
        Column("Ask is listed", "answers_ask", kind=Kind.YES_NO, default=False,
               help="Yes: its outcome stands on the sheet of outcomes. Else an issue asks itself."),
    ),
    rows=_movements,
    known=_known,
    save=_save_postings,
)  # fmt: skip


def never_changing(sheet: Sheet) -> Sheet:
    """The sheet of records that are only added to."""

    def checker() -> Callable[[Sequence[Row]], Iterable[Refusal]]:
        inner = sheet.checker()

        def check(rows: Sequence[Row]) -> Iterator[Refusal]:
            yield from inner(rows)
            changed = {one.pk for one in sheet.compare(rows)}
            for index, row in enumerate(rows):
                if row["pk"] in changed:
                    yield Refusal(
                        index=index,
                        field="",
                        sentence=f"This {sheet.one} is recorded already and never changes; "
                        "leave the row as it was.",
                    )

        return check

    return replace(sheet, checker=checker)


ASKS = record_sheet(
    Ask,
    title="Asks",
    one="ask",
    note="What was wanted, whether or not it was there: the demand that is planned for.",
    key=("key",),
    columns=(
        Column("Ask", "key", example="EX-A-17"),
        PART(),
        SITE(),
        Column("Pieces", "pieces", example=4),
        Column("Job", "job_key", example="EX-J-17"),
        Column("At", "at", example="2026-03-09T14:05:00+00:00"),
        Column("Day", "day", required=False, help="Blank: the site's day of “At”."),
        Column("Wish", "wish", help="The customer's own choice of make or look."),
        BY(),
    ),
)


def _with_days(sheet: Sheet) -> Sheet:
    def filler() -> Callable[[Row], Row]:
        sites = Site.objects.in_bulk()

        def fill(row: Row) -> Row:
            if row.get("day") is not None:
                return row
            site = sites.get(row["site"]) if isinstance(row["site"], int) else None
            return row | {"day": site.day_of(row["at"]) if site else row["at"].date()}

        return fill

    def checker() -> Callable[[Sequence[Row]], Iterable[Refusal]]:
        inner, fill = sheet.checker(), filler()
        return lambda rows: inner([fill(row) for row in rows])

    def save(rows: Iterable[Row], *, by: Any) -> Saved:
        fill = filler()
        return sheet.save((fill(row) for row in rows), by=by)

    def compare(rows: Sequence[Row]) -> Iterable[Any]:
        fill = filler()
        return sheet.compare([fill(row) for row in rows])

    return replace(sheet, checker=checker, save=save, compare=compare)


OUTCOMES = record_sheet(
    AskOutcome,
    title="Ask outcomes",
    one="outcome",
    note="How pieces of an ask were served, or why not.",
    key=("key",),
    columns=(
        Column("Key", "key", example="EX-A-17/1"),
        Column("Ask", "ask", to="Asks", path="ask__key", example="EX-A-17"),
        Column("How", "how", example="From the shelf"),
        Column("Pieces", "pieces", example=4),
        Column("At", "at", example="2026-03-09T14:05:00+00:00"),
        Column("Posting", "posting", to="Postings", path="posting__key"),
    ),
)


def _holds() -> Iterator[Row]:
    for hold in Hold.objects.order_by("key").select_related("shelf__part", "shelf__site", "by"):
        yield {
            "key": hold.key,
            "part": hold.shelf.part.number,
            "site": hold.shelf.site.code,
            "pieces": hold.pieces,
            "promised": hold.pieces_promised,
            "job_key": hold.job_key,
            "made_at": hold.made_at,
            "expires_at": hold.expires_at,
            "deposit_cents": hold.deposit_cents,
            "arrived_at": hold.arrived_at,
            "words": hold.words,
            "by": hold.by.username if hold.by else None,
        }


def _known_holds() -> Iterator[tuple[Key, int]]:
    return (((key,), pk) for pk, key in Hold.objects.order_by().values_list("pk", "key"))


def _save_holds(rows: Iterable[Row], *, by: Any) -> Saved:
    fresh, same = [], 0
    for index, row in enumerate(rows):
        if row["pk"] is None:
            fresh.append((index, row))
        else:
            same += 1
    lock_shelves((row["part"], row["site"]) for _, row in fresh)
    for index, row in fresh:
        key, delta = (row["part"], row["site"]), Delta(held=row["pieces"])
        if not change_shelf(key, delta):
            raise RowError(
                Refusal(index=index, field="pieces", sentence=refusal(key, delta, "hold"))
            )
        Hold.objects.create(
            key=row["key"],
            shelf=Shelf.objects.get(part=row["part"], site=row["site"]),
            pieces=row["pieces"],
            pieces_promised=row.get("promised") or row["pieces"],
            job_key=row["job_key"],
            made_at=row["made_at"],
            expires_at=row.get("expires_at"),
            deposit_cents=row.get("deposit_cents") or 0,
            arrived_at=row.get("arrived_at"),
            words=row.get("words") or "",
            by_id=row.get("by"),
        )
    return Saved(added=len(fresh), same=same)


HOLDS = Sheet(
    title="Holds",
    one="hold",
    note="Pieces promised to a job. What was promised is left alone when it is loaded again.",
    key=("key",),
    after=("Postings",),
    columns=(
        Column("Key", "key", kind=Kind.TEXT, required=True, longest=64, example="EX-H-17"),
        PART(required=True),
        SITE(required=True),
        Column("Pieces", "pieces", kind=Kind.WHOLE, required=True, low=0, example=4),
        Column("Pieces promised", "promised", kind=Kind.WHOLE, low=1, help="Blank: the same."),
        Column("Job", "job_key", kind=Kind.TEXT, required=True, longest=80, example="EX-J-17"),
        Column("Made at", "made_at", kind=Kind.INSTANT, required=True,
               example="2026-03-09T14:05:00+00:00"),
        Column("Expires at", "expires_at", kind=Kind.INSTANT),
        Column("Deposit", "deposit_cents", kind=Kind.MONEY, default=0, low=0),
        Column("Arrived at", "arrived_at", kind=Kind.INSTANT),
        Column("Why it ended", "words", kind=Kind.TEXT, default="", longest=80),
        BY(kind=Kind.TEXT),
    ),
    rows=_holds,
    known=_known_holds,
    save=_save_holds,
)  # fmt: skip

SHEETS = (
    POSTINGS,
    never_changing(_with_days(ASKS)),
    never_changing(OUTCOMES),
    HOLDS,
)
