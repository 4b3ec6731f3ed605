"""One line of a posting as a workbook brings it, and what is wrong with it before it is posted."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NoReturn

from django.core.exceptions import ValidationError

from inventory.catalog.models import Counted, Part
from inventory.ledger.models import Condition, PostingKind
from inventory.ledger.shelves import ShelfKey
from inventory.shop.models import Site, SiteKind

ABOVE, BELOW, NONE = "above 0", "below 0", "0"
SIGNS = {
    PostingKind.OPENING: ABOVE,
    PostingKind.RECEIVED: ABOVE,
    PostingKind.TAKEN_OFF: ABOVE,
    PostingKind.RETURNED: ABOVE,
    PostingKind.ISSUED: BELOW,
    PostingKind.SCRAPPED: BELOW,
    PostingKind.TO_SUPPLIER: BELOW,
    PostingKind.REVALUED: NONE,
}
"""What the pieces of a kind must be; the others come in and go out."""
ANSWERING = frozenset({PostingKind.RETURNED, PostingKind.REVALUED, PostingKind.UNDONE})
MOMENT = timedelta(seconds=30)
"""A posting that waited for another at its shelf was begun no longer before it than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementRow:
    """One line of a posting; lines that share a key belong together.

    index : which row of the caller's this is, for refusals
    recorded_at : None for as it happened
    number : its place within the posting; None for the order given
    part_id, site_id : 0 in the only line of a count that agreed, which moved nothing
    pieces : signed; 0 where only cents are corrected
    cents : signed; None where the ledger works them out
    lot : the lot's key; "" for the oldest first, or for a lot of its own
    condition : "" for what the everyday action of its kind makes of it
    of : "key/number" of the movement that this one answers
    hold, hold_pieces : the promise that an issue used up; 0 pieces for as many as it issues
    answers_ask : what it says of asks comes on their own sheet; else an issue writes its own ask
    """

    index: int
    key: str
    kind: str
    happened_at: datetime
    recorded_at: datetime | None = None
    number: int | None = None
    part_id: int = 0
    site_id: int = 0
    pieces: int = 0
    cents: int | None = None
    lot: str = ""
    of: str = ""
    occasion: str = ""
    occasion_on: date | None = None
    words: str = ""
    by_id: int | None = None
    bin_id: int | None = None
    made_on: date | None = None
    received_on: date | None = None
    maker_code: str = ""
    condition: str = ""
    prepared_for: str = ""
    came_from: str = ""
    undoes: str = ""
    hold: str = ""
    hold_pieces: int = 0
    answers_ask: bool = False

    @property
    def shelf(self) -> ShelfKey:
        return self.part_id, self.site_id

    @property
    def is_whole(self) -> bool:
        """Whether nothing of it is left for the ledger to work out."""
        return bool(self.lot) and self.cents is not None


class RefusedRowError(ValidationError):
    """A row that cannot be posted, and why."""

    def __init__(self, *, index: int, sentence: str) -> None:
        super().__init__(sentence)
        self.index = index
        self.sentence = sentence


def refuse(row: MovementRow, sentence: str) -> NoReturn:
    raise RefusedRowError(index=row.index, sentence=sentence)


def by_posting(rows: Iterable[MovementRow]) -> dict[str, list[MovementRow]]:
    """Lines by the key of their posting, each in its place."""
    grouped: defaultdict[str, list[MovementRow]] = defaultdict(list)
    for row in rows:
        grouped[row.key].append(row)
    for lines in grouped.values():
        lines.sort(key=lambda row: row.number or 0)
    return dict(grouped)


def in_order(postings: Iterable[list[MovementRow]]) -> list[list[MovementRow]]:
    """In order of recording or, where it is not told, of happening; at one instant as they stand.

    Of two postings recorded within a moment the one that came first may have waited for the other
    at a shelf. The ledger writes them out as they reached it, so their order is left as it stands.
    """
    timed: list[tuple[datetime, list[MovementRow]]] = []
    latest: datetime | None = None
    for lines in postings:
        at = lines[0].recorded_at or lines[0].happened_at
        if lines[0].recorded_at is not None:
            if latest is not None and at < latest <= at + MOMENT:
                at = latest
            latest = max(latest or at, at)
        timed.append((at, lines))
    return [lines for _, lines in sorted(timed, key=lambda each: each[0])]


def check_lines(
    lines: Sequence[MovementRow],
    *,
    parts: Mapping[int, Part],
    sites: Mapping[int, Site],
    bins: Mapping[int, int],
) -> None:
    """Refuse what no stock on the shelves could make right."""
    first = lines[0]
    for row in lines:
        if (row.kind, row.happened_at, row.undoes) != (first.kind, first.happened_at, first.undoes):
            refuse(row, f"Rows of posting “{row.key}” differ in kind, time or undo; give it one.")
        if not row.part_id:
            _check_agreed(row, alone=len(lines) == 1)
            continue
        _check_kind(row)
        _check_cents(row)
        _check_place(row, parts[row.part_id], sites[row.site_id], bins)


def _check_agreed(row: MovementRow, *, alone: bool) -> None:
    if row.kind != PostingKind.COUNTED or row.pieces or not alone:
        refuse(row, "The part is missing; only a count that agreed is posted without one.")


def _check_kind(row: MovementRow) -> None:
    label = PostingKind(row.kind).label
    sign = SIGNS.get(PostingKind(row.kind))
    if sign is not None and sign != _sign(row.pieces):
        refuse(row, f"Pieces of kind “{label}” are {sign}; correct the sign or the kind.")
    if row.kind in ANSWERING and not row.of:
        refuse(row, f"Kind “{label}” answers a movement; name it, such as EX-P-17/1.")
    if row.of.rpartition("/")[0] == row.key:
        refuse(row, f"“{row.of}” is of this same posting; answer one of an earlier posting.")
    if (row.kind == PostingKind.UNDONE) != bool(row.undoes):
        refuse(row, "An undo names the posting it undoes, and nothing else does.")
    if row.hold and row.kind != PostingKind.ISSUED:
        refuse(row, "Only an issue uses up a hold; leave that cell blank.")


def _sign(pieces: int) -> str:
    return ABOVE if pieces > 0 else BELOW if pieces < 0 else NONE


def _check_cents(row: MovementRow) -> None:
    if row.pieces == 0 and not (row.lot and row.cents and row.of):
        refuse(row, "No pieces and no correction of a lot's value; say which.")
    if row.cents is not None and row.cents * row.pieces < 0:
        refuse(row, "Pieces and their value move the same way; correct the sign.")


def _check_place(row: MovementRow, part: Part, site: Site, bins: Mapping[int, int]) -> None:
    if part.counted == Counted.NOT:
        refuse(
            row,
            f"{part.number} is not counted, so nothing of it is posted; "
            "change how it is counted first.",
        )
    if row.bin_id is not None and bins[row.bin_id] != row.site_id:
        refuse(row, "The bin is at another site; correct it.")
    on_the_road = site.kind == SiteKind.TRANSIT
    if on_the_road and row.kind in {PostingKind.ISSUED, PostingKind.RECEIVED}:
        refuse(row, f"Nothing is received or sold at {site}; post it where it is going.")
    if row.condition == Condition.PREPARED and row.pieces > 0 and not row.prepared_for:
        refuse(row, "A prepared sensor is kept for one job; write which.")
