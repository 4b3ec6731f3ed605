"""The sheet of postings: a row for each movement, and one for a count that moved nothing."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from inventory.catalog.sheets import PART
from inventory.ledger.actions.bulk import MovementRow, RefusedRowError, record_postings
from inventory.ledger.models import AskOutcome, Condition, Movement, Posting, PostingKind
from inventory.ledger.sheets.people import BY
from inventory.sheet import Column, Key, Kind, Refusal, Row, RowError, Saved, Sheet
from inventory.shop.sheets import SITE

AT_A_TIME = 1_000


def _rows() -> Iterator[Row]:
    """Movements in order of recording; then the counts that agreed, which have none."""
    told = AskOutcome.objects.exclude(posting=None).order_by()
    asked = set(told.values_list("posting", flat=True))
    related = "posting__by", "posting__undoes", "posting__hold", "lot__bin", "part", "site"
    movements = Movement.objects.order_by("pk").select_related(*related, "of__posting")
    for one in movements.iterator(AT_A_TIME):
        yield _posting_cells(one.posting, asked) | _movement_cells(one)
    agreed = Posting.objects.filter(movements=None).order_by("pk")
    for posting in agreed.select_related("by", "undoes", "hold").iterator(AT_A_TIME):
        yield _posting_cells(posting, asked) | _NO_MOVEMENT


def _posting_cells(posting: Posting, asked: set[int]) -> Row:
    return {
        "key": posting.key,
        "kind": posting.kind,
        "happened_at": posting.happened_at,
        "recorded_at": posting.recorded_at,
        "occasion": posting.occasion,
        "occasion_on": posting.occasion_on,
        "words": posting.words,
        "by": posting.by.username if posting.by else None,
        "undoes": posting.undoes.key if posting.undoes else "",
        "hold": posting.hold.key if posting.hold else "",
        "hold_pieces": posting.hold_pieces or None,
        "answers_ask": posting.pk in asked,
    }


def _movement_cells(one: Movement) -> Row:
    lot = one.lot
    return {
        "line": one.number,
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
    }


_NO_MOVEMENT: Row = {
    **dict.fromkeys(("line", "part", "site", "pieces", "cents", "lot", "bin", "made_on", "of")),
    **dict.fromkeys(("received_on", "code", "condition", "prepared_for", "came_from")),
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
        recorded_at=row.get("recorded_at"),
        number=row.get("line"),
        part_id=row.get("part") or 0,
        site_id=row.get("site") or 0,
        pieces=row.get("pieces") or 0,
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
        condition=row.get("condition") or "",
        prepared_for=row.get("prepared_for") or "",
        came_from=row.get("came_from") or "",
        undoes=row.get("undoes") or "",
        hold=row.get("hold") or "",
        hold_pieces=row.get("hold_pieces") or 0,
        answers_ask=bool(row.get("answers_ask")),
    )


def _check_rows(rows: Sequence[Row]) -> Iterator[Refusal]:
    """A count that agreed moved nothing; every other row says what of, where and how much."""
    for index, row in enumerate(rows):
        blank = [name for name in ("part", "site", "pieces") if row.get(name) is None]
        if blank and (len(blank) < 3 or row["kind"] != PostingKind.COUNTED):
            yield Refusal(
                index=index,
                field=blank[0],
                sentence="The cell is blank; only a count that agreed has no part, site and "
                "pieces.",
            )


POSTINGS = Sheet(
    title="Postings",
    one="posting",
    note="Everything that happened to stock, a row for each movement; rows of one posting share "
    "its key. They are posted as they were recorded or, where that is blank, as they happened. For "
    "what a shop begins with: kind Opening stock, one key and moment for all rows, a row a part.",
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
        Column("Recorded at", "recorded_at", kind=Kind.INSTANT, help="Blank: as it happened."),
        Column("Occasion", "occasion", kind=Kind.TEXT, default="", longest=80, example="EX-J-17"),
        Column("Occasion on", "occasion_on", kind=Kind.DATE),
        Column("Words", "words", kind=Kind.TEXT, default="", longest=200),
        BY(kind=Kind.TEXT),
        Column("Line", "line", kind=Kind.WHOLE, low=1, example=1,
               help="Its number within the posting. Blank: in the order of the rows."),
        PART(help="Blank only for a count that agreed."),
        SITE(),
        Column("Pieces", "pieces", kind=Kind.WHOLE, example=12,
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
            choices=tuple((str(v), str(w)) for v, w in Condition.choices),
            help="Blank: sealed, as it was before it moved, or as the kind has it.",
        ),
        Column("Prepared for", "prepared_for", kind=Kind.TEXT, default="", longest=80),
        Column("Came from", "came_from", kind=Kind.TEXT, default="", longest=80),
        Column("Answers", "of", kind=Kind.TEXT, default="", longest=72,
               help="Key and number of the movement it returns, undoes or corrects: EX-P-17/1."),
        Column("Undoes", "undoes", kind=Kind.TEXT, default="", longest=64),
        Column("Hold", "hold", kind=Kind.TEXT, default="", longest=64,
               help="The promise that an issue used up."),
        Column("Pieces of the hold", "hold_pieces", kind=Kind.WHOLE, low=1,
               help="Blank: as many as were issued."),
        Column("Ask is listed", "answers_ask", kind=Kind.YES_NO, default=False,
               help="Yes: its outcome stands on the sheet of outcomes. Else an issue asks itself."),
    ),
    rows=_rows,
    known=_known,
    save=_save_postings,
    checker=lambda: _check_rows,
)  # fmt: skip
