"""One line of a posting as a workbook brings it, and what is wrong with it before it is posted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
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


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementRow:
    """One line of a posting; lines that share a key belong together, in the order given.

    index : which row of the caller's this is, for refusals
    pieces : signed; 0 where only cents are corrected
    cents : signed; None where the ledger works them out
    lot : the lot's key; "" for the oldest first, or for a lot of its own
    of : "key/number" of the movement that this one answers
    answers_ask : what it says of asks comes on their own sheet; else an issue writes its own ask
    """

    index: int
    key: str
    kind: str
    happened_at: datetime
    recorded_at: datetime
    part_id: int
    site_id: int
    pieces: int
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
    condition: str = Condition.SEALED
    prepared_for: str = ""
    came_from: str = ""
    undoes: str = ""
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
        _check_kind(row)
        _check_cents(row)
        _check_place(row, parts[row.part_id], sites[row.site_id], bins)


def _check_kind(row: MovementRow) -> None:
    label = PostingKind(row.kind).label
    sign = SIGNS.get(PostingKind(row.kind))
    if sign is not None and sign != _sign(row.pieces):
        refuse(row, f"Pieces of kind “{label}” are {sign}; correct the sign or the kind.")
    if row.kind in ANSWERING and not row.of:
        refuse(row, f"Kind “{label}” answers a movement; name it, such as EX-P-17/1.")
    if (row.kind == PostingKind.UNDONE) != bool(row.undoes):
        refuse(row, "An undo names the posting it undoes, and nothing else does.")


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
