"""The sheets of what is promised to jobs, and of what travels between sites."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from django.db.models import Sum

from inventory.catalog.sheets import PART
from inventory.ledger.models import Hold, Movement, PostingKind, Shelf, Transfer
from inventory.ledger.sheets.people import BY
from inventory.ledger.shelves import Delta, change_shelf, lock_shelves, refusal
from inventory.sheet import Column, Key, Kind, Refusal, Row, RowError, Saved, Sheet
from inventory.sheet.records import record_sheet, runs
from inventory.shop.sheets import SITE


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
    """Holds that are new; one that a posting of the same workbook names gets its facts here."""
    told = list(enumerate(rows))
    fresh = [(index, row) for index, row in told if row["pk"] is None]
    lock_shelves((row["part"], row["site"]) for _, row in fresh)
    named = {hold.key: hold for hold in Hold.objects.filter(key__in=[r["key"] for _, r in fresh])}
    for index, row in fresh:
        _save_hold(index, row, named.get(row["key"]))
    return Saved(added=len(fresh), same=len(told) - len(fresh))


def _save_hold(index: int, row: Row, hold: Hold | None) -> None:
    key = row["part"], row["site"]
    shelf = Shelf.objects.get(part=row["part"], site=row["site"])
    if hold is not None and hold.shelf_id != shelf.pk:
        sentence = f"A posting used it up for {hold.shelf}; correct the part or the site."
        raise RowError(Refusal(index=index, field="part", sentence=sentence))
    delta = Delta(held=row["pieces"] - (hold.pieces if hold else 0))
    if not change_shelf(key, delta):
        raise RowError(Refusal(index=index, field="pieces", sentence=refusal(key, delta, "hold")))
    Hold.objects.update_or_create(
        key=row["key"],
        defaults={
            "shelf": shelf,
            "pieces": row["pieces"],
            "pieces_promised": row.get("promised") or row["pieces"],
            "job_key": row["job_key"],
            "made_at": row["made_at"],
            "expires_at": row.get("expires_at"),
            "deposit_cents": row.get("deposit_cents") or 0,
            "arrived_at": row.get("arrived_at"),
            "words": row.get("words") or "",
            "by_id": row.get("by"),
        },
    )


def _check_holds(rows: Sequence[Row]) -> Iterator[Refusal]:
    for index, row in enumerate(rows):
        promised = row.get("promised")
        if promised is None and not row["pieces"]:
            yield Refusal(
                index=index,
                field="promised",
                sentence="Nothing of it is left, so write how many were promised.",
            )
        elif promised is not None and promised < row["pieces"]:
            yield Refusal(
                index=index,
                field="pieces",
                sentence="A hold cannot cover more than was promised.",
            )


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
    checker=lambda: _check_holds,
)  # fmt: skip


_TRANSFERS = record_sheet(
    Transfer,
    title="Transfers",
    one="transfer",
    note="Pieces sent from one site to another. What is there already is left alone.",
    key=("key",),
    columns=(
        Column("Key", "key", example="EX-T-17"),
        PART(),
        SITE(heading="From site", field="from_site", path="from_site__code"),
        SITE(heading="To site", field="to_site", path="to_site__code"),
        Column("Pieces", "pieces", example=4),
        Column("Sent", "sent", to="Postings", path="sent__key", example="EX-P-17"),
        Column("Received", "received", to="Postings", path="received__key",
               help="Blank while it is on the road."),
        Column("Borrowed", "borrowed", example="Keep"),
        Column("Sends back", "sends_back", to="Transfers", path="sends_back__key",
               help="The transfer whose borrowed pieces this one returns."),
    ),
)  # fmt: skip


def _plain(row: Row) -> Row:
    """Without the transfer that it sends back, which may stand in a later row."""
    return row | {"sends_back": None}


def _transfer_checker() -> Callable[[Sequence[Row]], Iterable[Refusal]]:
    inner = _TRANSFERS.checker()
    return lambda rows: inner([_plain(row) for row in rows])


def _save_transfers(rows: Iterable[Row], *, by: Any) -> Saved:
    total, start = Saved(), 0
    backs: dict[str, str] = {}
    for run in runs(rows):
        fresh = [(start + at, row) for at, row in enumerate(run) if row["pk"] is None]
        start += len(run)
        _refuse_unmoved(fresh)
        _TRANSFERS.save([_plain(row) for _, row in fresh], by=by)
        backs |= {row["key"]: row["sends_back"][0] for _, row in fresh if row.get("sends_back")}
        total += Saved(added=len(fresh), same=len(run) - len(fresh))
    for key, back in backs.items():
        Transfer.objects.filter(key=key).update(sends_back=Transfer.objects.get(key=back))
    return total


def _refuse_unmoved(fresh: Sequence[tuple[int, Row]]) -> None:
    """A transfer names postings that moved its pieces: out of the one site, into the other."""
    named = {row[name] for _, row in fresh for name in ("sent", "received") if row.get(name)}
    moved = Movement.objects.filter(posting__in=named, posting__kind=PostingKind.MOVED)
    sums = moved.order_by().values_list("posting", "part", "site").annotate(sum=Sum("pieces"))
    pieces = {(posting, part, site): total for posting, part, site, total in sums}
    for index, row in fresh:
        if pieces.get((row["sent"], row["part"], row["from_site"])) != -row["pieces"]:
            sentence = "This posting does not send that many of the part from there; correct it."
            raise RowError(Refusal(index=index, field="sent", sentence=sentence))
        came = pieces.get((row.get("received"), row["part"], row["to_site"]), 0)
        if row.get("received") and came <= 0:
            sentence = "This posting brings nothing of the part to that site; correct it."
            raise RowError(Refusal(index=index, field="received", sentence=sentence))


TRANSFERS = replace(
    _TRANSFERS, checker=_transfer_checker, compare=lambda rows: (), save=_save_transfers
)
