"""Many postings at once, as a workbook or the demo brings them, in order of happening.

Each shelf is locked once, its lots are worked on in memory by the same rules as everyday postings
(oldest first, cents to the last), and each shelf changes by one conditional UPDATE at the end. All
is written or nothing; what cannot be is said by row.
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NoReturn

from django.db import transaction

from inventory.catalog.models import Counted, Part
from inventory.ledger.lots import Taken, share_of, split_evenly, take
from inventory.ledger.models import (
    Ask,
    AskOutcome,
    Condition,
    How,
    Lot,
    Movement,
    Posting,
    PostingKind,
    Shelf,
)
from inventory.ledger.shelves import Delta, ShelfKey, change_shelf, lock_shelves, refusal
from inventory.shop.models import Bin, Site

AT_A_TIME = 2_000
COST_FROM_OUT = (PostingKind.MOVED, PostingKind.PUT_TOGETHER, PostingKind.TAKEN_APART)


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementRow:
    """One line of a posting; lines that share a key belong together, in the order given.

    index : which row of the caller's this is, for refusals
    pieces : signed; 0 where only cents are corrected
    cents : signed; None where the ledger works them out
    lot : the lot's key; "" for the oldest first, or for a lot of its own
    of : "key/number" of the movement that this one answers
    answers_ask : outcomes of an ask come on their own; else an issue writes its own ask
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


class RefusedRowError(Exception):
    """A row that cannot be posted, and why."""

    def __init__(self, *, index: int, sentence: str) -> None:
        super().__init__(sentence)
        self.index = index
        self.sentence = sentence


def refuse(row: MovementRow, sentence: str) -> NoReturn:
    raise RefusedRowError(index=row.index, sentence=sentence)


def record_postings(rows: Iterable[MovementRow]) -> int:
    """Post everything that is not posted yet, in order of happening; returns how many postings.

    Raises
    ------
    RefusedRowError
        Naming the row, if one cannot be; nothing is written then.
    """
    grouped: dict[str, list[MovementRow]] = defaultdict(list)
    for row in rows:
        grouped[row.key].append(row)
    keys = list(grouped)
    for start in range(0, len(keys), AT_A_TIME):
        there = Posting.objects.filter(key__in=keys[start : start + AT_A_TIME])
        for key in there.values_list("key", flat=True):
            del grouped[key]
    if not grouped:
        return 0
    with transaction.atomic():
        book = Book.of(row for lines in grouped.values() for row in lines)
        # Stable: what happened at the same instant stays in the order of the rows.
        for lines in sorted(grouped.values(), key=lambda lines: lines[0].happened_at):
            book.post(lines)
        book.close()
    return len(grouped)


@dataclass(slots=True, kw_only=True)
class Book:
    """The shelves in hand, with their lots in memory, and what waits to be written."""

    parts: dict[int, Part]
    sites: dict[int, Site]
    bins: dict[int, int]
    shelves: dict[ShelfKey, Shelf]
    lots: dict[ShelfKey, list[Lot]] = field(default_factory=lambda: defaultdict(list))
    by_key: dict[str, Lot] = field(default_factory=dict)
    deltas: dict[ShelfKey, Delta] = field(default_factory=lambda: defaultdict(Delta))
    changed: dict[int, Lot] = field(default_factory=dict)
    splits: list[tuple[Lot, Lot]] = field(default_factory=list)
    rows_of: dict[ShelfKey, int] = field(default_factory=dict)
    postings: list[Posting] = field(default_factory=list)
    new_lots: list[Lot] = field(default_factory=list)
    movements: list[Movement] = field(default_factory=list)
    numbered: dict[str, Movement] = field(default_factory=dict)
    asks: list[tuple[Ask, AskOutcome]] = field(default_factory=list)
    posted: dict[str, Posting] = field(default_factory=dict)

    @classmethod
    def of(cls, rows: Iterable[MovementRow]) -> "Book":
        keys: dict[ShelfKey, int] = {}
        for row in rows:
            keys[row.shelf] = row.index
        lock_shelves(keys)
        part_ids, site_ids = {part for part, _ in keys}, {site for _, site in keys}
        shelves = Shelf.objects.filter(site__in=site_ids).select_related(None)
        found = {(s.part_id, s.site_id): s for s in shelves if (s.part_id, s.site_id) in keys}
        book = cls(
            parts=Part.objects.in_bulk(part_ids),
            sites=Site.objects.in_bulk(site_ids),
            bins=dict(Bin.objects.values_list("pk", "site")),
            shelves=found,
            rows_of=keys,
        )
        by_shelf = {shelf.pk: key for key, shelf in found.items()}
        for lot in Lot.objects.filter(shelf__site__in=site_ids).iterator(AT_A_TIME):
            if lot.shelf_id in by_shelf:
                book.keep(by_shelf[lot.shelf_id], lot)
        return book

    def keep(self, key: ShelfKey, lot: Lot) -> None:
        self.by_key[lot.key] = lot
        self.lots[key].append(lot)

    # One posting

    def post(self, lines: Sequence[MovementRow]) -> None:
        first = lines[0]
        posting = Posting(
            key=first.key,
            kind=first.kind,
            occasion=first.occasion,
            occasion_on=first.occasion_on,
            words=first.words,
            happened_at=first.happened_at,
            recorded_at=first.recorded_at,
            by_id=first.by_id,
            undoes=self.undone(first),
        )
        self.postings.append(posting)
        self.posted[posting.key] = posting
        out: dict[int, deque[Taken]] = defaultdict(deque)
        for row in lines:
            self.check(row)
            if row.pieces < 0:
                for taken in self.take_out(posting, row):
                    out[row.part_id].append(taken)
        spent = sum(taken.cents for queue in out.values() for taken in queue)
        incoming = [row for row in lines if row.pieces >= 0]
        for row, cents, source in self.costed(posting, incoming, out, spent):
            self.bring_in(posting, row, cents, source)
        if len(self.movements) >= AT_A_TIME:
            self.flush()

    def check(self, row: MovementRow) -> None:
        part = self.parts[row.part_id]
        if part.counted == Counted.NOT:
            refuse(
                row,
                f"{part.number} is not counted, so nothing of it is posted; "
                "change how it is counted first.",
            )
        if row.bin_id is not None and self.bins[row.bin_id] != row.site_id:
            refuse(row, "The bin is at another site; correct it.")
        if row.pieces == 0 and not (row.lot and row.cents):
            refuse(row, "No pieces and no correction of a lot's value; say which.")

    def undone(self, row: MovementRow) -> Posting | None:
        if not row.undoes:
            return None
        found = self.posted.get(row.undoes) or Posting.objects.filter(key=row.undoes).first()
        if found is None:
            refuse(row, f"No posting “{row.undoes}” to undo.")
        if found.pk is None:
            self.flush()
        return found

    def take_out(self, posting: Posting, row: MovementRow) -> list[Taken]:
        wanted = -row.pieces
        named = self.named(row) if row.lot else None
        lots = [named] if named else self.oldest_first(row.shelf)
        free = sum(lot.pieces_left for lot in lots)
        if free < wanted:
            part, site = self.parts[row.part_id], self.sites[row.site_id]
            refuse(
                row,
                f"Only {free} of {part.number} on the shelf at {site} by then, "
                f"not {wanted}; post {free} or fewer, or receive stock first.",
            )
        found = []
        for lot in lots:
            count = min(lot.pieces_left, wanted)
            if not count:
                continue
            taken = take(lot, count)
            if row.cents is not None and named:
                # Cents told for a named lot are kept as told.
                lot.cents_left += taken.cents + row.cents
                taken = Taken(lot=lot, pieces=count, cents=-row.cents)
            self.book(posting, row, lot, -count, -taken.cents)
            found.append(taken)
            wanted -= count
        if posting.kind == PostingKind.ISSUED and not row.answers_ask:
            self.own_ask(posting, row)
        return found

    def oldest_first(self, key: ShelfKey) -> list[Lot]:
        """Usable lots with pieces left; empty ones are dropped from the list in hand."""
        left = [lot for lot in self.lots[key] if lot.pieces_left]
        self.lots[key] = left
        usable = [lot for lot in left if lot.is_usable]
        return sorted(usable, key=lambda lot: (lot.made_on or lot.received_on, lot.received_on))

    def named(self, row: MovementRow) -> Lot:
        lot = self.by_key.get(row.lot)
        if lot is None or self.shelf_of(lot) != row.shelf:
            refuse(
                row,
                f"No lot “{row.lot}” of this part lies at this site; leave the lot blank "
                "for the oldest first.",
            )
        return lot

    def shelf_of(self, lot: Lot) -> ShelfKey:
        return lot.shelf.part_id, lot.shelf.site_id

    def costed(
        self,
        posting: Posting,
        incoming: Sequence[MovementRow],
        out: dict[int, deque[Taken]],
        spent: int,
    ) -> list[tuple[MovementRow, int, Lot | None]]:
        """Each line that comes in with its cents and, where it was split off, its lot."""
        if posting.kind == PostingKind.MOVED:
            return [piece for row in incoming for piece in self.moved(row, out[row.part_id])]
        told = [row for row in incoming if row.cents is not None]
        untold = [row for row in incoming if row.cents is None]
        costed = [(row, row.cents or 0, None) for row in told]
        if untold and posting.kind in COST_FROM_OUT:
            left = spent - sum(row.cents or 0 for row in told)
            weights = [self.weight(row) for row in untold]
            shares = split_evenly(left, weights)
            return [*costed, *((row, c, None) for row, c in zip(untold, shares, strict=True))]
        return [*costed, *((row, self.cents_of(posting, row), None) for row in untold)]

    def weight(self, row: MovementRow) -> int:
        return (self.parts[row.part_id].list_price_cents or 0) * row.pieces

    def moved(
        self, row: MovementRow, queue: deque[Taken]
    ) -> list[tuple[MovementRow, int, Lot | None]]:
        """What went out comes in with its own cents: one lot for each that it was taken from."""
        wanted, cents, source = row.pieces, 0, None
        while wanted and queue:
            taken = queue.popleft()
            count = min(wanted, taken.pieces)
            share = share_of(taken.cents, count, taken.pieces)
            if count < taken.pieces:
                rest = Taken(lot=taken.lot, pieces=taken.pieces - count, cents=taken.cents - share)
                queue.appendleft(rest)
            wanted, cents, source = wanted - count, cents + share, source or taken.lot
        if wanted:
            refuse(row, "More pieces arrive than left; correct it.")
        return [(row, cents if row.cents is None else row.cents, source)]

    def cents_of(self, posting: Posting, row: MovementRow) -> int:
        if row.of:
            of = self.answered(row)
            return share_of(-of.cents, row.pieces, -of.pieces) if of.pieces < 0 else 0
        if posting.kind == PostingKind.TAKEN_OFF:
            return 0
        if posting.kind != PostingKind.COUNTED:
            refuse(row, "The value is missing; write what they cost.")
        return self.last_cost(row)

    def last_cost(self, row: MovementRow) -> int:
        bought = [
            lot
            for (part, _), lots in self.lots.items()
            if part == row.part_id
            for lot in lots
            if lot.cents_received
        ]
        here = [lot for lot in bought if self.shelf_of(lot) == row.shelf] or bought
        if not here:
            refuse(row, "It was never bought; write what they cost.")
        newest = max(here, key=lambda lot: lot.received_on)
        return share_of(newest.cents_received, row.pieces, newest.pieces_received)

    def bring_in(self, posting: Posting, row: MovementRow, cents: int, source: Lot | None) -> None:
        if cents < 0 and row.pieces:
            refuse(row, "A value cannot be below 0; correct it.")
        if row.lot and row.lot in self.by_key:
            lot = self.named(row)
            lot.pieces_left += row.pieces
            lot.cents_left += cents
            if row.pieces == 0 and row.of and self.answered(row).pieces > 0:
                lot.cents_received += cents
        elif row.of and row.condition in Condition.usable():
            lot = self.answered(row).lot
            lot.pieces_left += row.pieces
            lot.cents_left += cents
            if lot not in self.lots[row.shelf]:
                self.lots[row.shelf].append(lot)
        else:
            lot = self.open_lot(posting, row, cents, source)
        self.book(posting, row, lot, row.pieces, cents)

    def open_lot(self, posting: Posting, row: MovementRow, cents: int, source: Lot | None) -> Lot:
        day = self.sites[row.site_id].day_of(row.happened_at)
        lot = Lot(
            key=row.lot or f"{posting.key}/{self.next_number(posting)}",
            shelf=self.shelves[row.shelf],
            bin_id=row.bin_id,
            received_on=row.received_on or (source.received_on if source else day),
            made_on=row.made_on or (source.made_on if source else None),
            maker_code=row.maker_code or (source.maker_code if source else ""),
            condition=row.condition,
            prepared_for=row.prepared_for,
            came_from=row.came_from or (source.came_from if source else ""),
            pieces_received=row.pieces,
            cents_received=cents,
            pieces_left=row.pieces,
            cents_left=cents,
        )
        self.keep(row.shelf, lot)
        self.new_lots.append(lot)
        if source is not None:
            self.splits.append((lot, source))
        return lot

    def next_number(self, posting: Posting) -> int:
        if not self.movements or self.movements[-1].posting is not posting:
            return 1
        return self.movements[-1].number + 1

    def book(self, posting: Posting, row: MovementRow, lot: Lot, pieces: int, cents: int) -> None:
        of = self.answered(row) if row.of else None
        if of is not None and of.pk is None:
            self.flush()
        movement = Movement(
            posting=posting,
            number=self.next_number(posting) if of is None else self.number_of(posting),
            lot=lot,
            part_id=row.part_id,
            site_id=row.site_id,
            pieces=pieces,
            cents=cents,
            of=of,
        )
        self.movements.append(movement)
        self.numbered[f"{posting.key}/{movement.number}"] = movement
        delta = self.deltas[row.shelf]
        delta.on_hand += pieces
        delta.usable += pieces if lot.is_usable else 0
        if lot.pk is not None:
            self.changed[lot.pk] = lot

    def number_of(self, posting: Posting) -> int:
        """The next number of a posting some of whose movements may be written already."""
        written = posting.movements.count() if posting.pk else 0
        waiting = sum(1 for movement in self.movements if movement.posting is posting)
        return written + waiting + 1

    def answered(self, row: MovementRow) -> Movement:
        if row.of in self.numbered:
            return self.numbered[row.of]
        key, _, number = row.of.rpartition("/")
        found = Movement.objects.filter(posting__key=key, number=int(number or 0)).first()
        if found is None:
            refuse(row, f"No movement “{row.of}” to answer.")
        found.lot = self.by_key[found.lot.key]
        self.numbered[row.of] = found
        return found

    def own_ask(self, posting: Posting, row: MovementRow) -> None:
        ask = Ask(
            key=f"{posting.key}:ask",
            part_id=row.part_id,
            site_id=row.site_id,
            pieces=-row.pieces,
            job_key=posting.occasion,
            at=posting.happened_at,
            day=self.sites[row.site_id].day_of(posting.happened_at),
            by_id=posting.by_id,
        )
        outcome = AskOutcome(
            key=f"{posting.key}:ask/1",
            how=How.SHELF,
            pieces=-row.pieces,
            at=posting.happened_at,
            posting=posting,
        )
        self.asks.append((ask, outcome))

    # Writing

    def flush(self) -> None:
        """Write what waits, in the order in which it happened."""
        fresh = [posting for posting in self.postings if posting.pk is None]
        Posting.objects.bulk_create(fresh, batch_size=AT_A_TIME)
        for lot in self.new_lots:
            self.changed.pop(lot.pk or 0, None)
        Lot.objects.bulk_create(self.new_lots, batch_size=AT_A_TIME)
        for lot in self.new_lots:
            self.changed[lot.pk] = lot
        for movement in self.movements:
            movement.posting_id, movement.lot_id = movement.posting.pk, movement.lot.pk
        Movement.objects.bulk_create(self.movements, batch_size=AT_A_TIME)
        self.write_asks()
        self.postings = [posting for posting in self.postings if posting.pk is None]
        self.new_lots, self.movements = [], []

    def write_asks(self) -> None:
        Ask.objects.bulk_create([ask for ask, _ in self.asks], batch_size=AT_A_TIME)
        for ask, outcome in self.asks:
            outcome.ask_id, outcome.posting_id = ask.pk, outcome.posting.pk  # type: ignore[union-attr]
        AskOutcome.objects.bulk_create([one for _, one in self.asks], batch_size=AT_A_TIME)
        self.asks = []

    def close(self) -> None:
        self.flush()
        for lot, source in self.splits:
            lot.from_lot = source
            self.changed[lot.pk] = lot
        Lot.objects.bulk_update(
            self.changed.values(),
            ["pieces_left", "cents_left", "cents_received", "from_lot"],
            batch_size=200,
        )
        for key, delta in sorted(self.deltas.items()):
            if not change_shelf(key, delta):
                raise RefusedRowError(index=self.rows_of[key], sentence=refusal(key, delta, "post"))
