"""The shelves in hand while many postings are made: their lots in memory, and what waits to be
written.

The shelves are locked from the start, so what is in memory stays true; each changes by one
conditional UPDATE at the end. The rules of what may be posted are the bulk action's.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import NoReturn

from inventory.catalog.models import Part
from inventory.ledger.lots import Taken, take
from inventory.ledger.models import Ask, AskOutcome, Hold, How, Lot, Movement, Posting, Shelf
from inventory.ledger.origins import lot_facts
from inventory.ledger.promised import Promised
from inventory.ledger.queues import Queues
from inventory.ledger.rows import MovementRow, RefusedRowError, refuse
from inventory.ledger.shelves import Delta, ShelfKey, change_shelf, lock_shelves, refusal
from inventory.ledger.trails import net_of
from inventory.shop.models import Bin, Site

AT_A_TIME = 2_000
LEFT = ["pieces_left", "cents_left", "cents_received", "from_lot"]


@dataclass(slots=True, kw_only=True)
class Book:
    """`net` is what is left of a movement after all that answers it, by its name."""

    parts: dict[int, Part]
    sites: dict[int, Site]
    bins: dict[int, int]
    shelves: dict[ShelfKey, Shelf]
    rows_of: dict[ShelfKey, int]
    lots: Queues = field(default_factory=Queues)
    deltas: dict[ShelfKey, Delta] = field(default_factory=lambda: defaultdict(Delta))
    changed: dict[int, Lot] = field(default_factory=dict)
    posted: dict[str, Posting] = field(default_factory=dict)
    numbers: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    named: dict[str, Movement] = field(default_factory=dict)
    net: dict[str, list[int]] = field(default_factory=dict)
    touched: list[Lot] = field(default_factory=list)
    undone: set[str] = field(default_factory=set)
    promised: Promised = field(default_factory=Promised)
    new_postings: list[Posting] = field(default_factory=list)
    new_lots: list[tuple[Lot, Lot | None]] = field(default_factory=list)
    new_movements: list[Movement] = field(default_factory=list)
    new_asks: list[tuple[Ask, AskOutcome]] = field(default_factory=list)
    afterwards: list[Callable[[], None]] = field(default_factory=list)

    @classmethod
    def of(cls, rows: Iterable[MovementRow]) -> "Book":
        """Lock the shelves these rows name, and read their lots."""
        rows_of = {row.shelf: row.index for row in rows if row.part_id}
        lock_shelves(rows_of)
        parts, sites = {part for part, _ in rows_of}, {site for _, site in rows_of}
        shelves = {
            (shelf.part_id, shelf.site_id): shelf
            for shelf in Shelf.objects.filter(site__in=sites)
            .select_related("part")
            .iterator(AT_A_TIME)
            if (shelf.part_id, shelf.site_id) in rows_of
        }
        book = cls(
            parts=Part.objects.in_bulk(parts),
            sites=Site.objects.in_bulk(sites),
            bins=dict(Bin.objects.values_list("pk", "site")),
            shelves=shelves,
            rows_of=rows_of,
        )
        by_pk = {shelf.pk: shelf for shelf in shelves.values()}
        for lot in Lot.objects.filter(shelf__site__in=sites).order_by("pk").iterator(AT_A_TIME):
            if shelf := by_pk.get(lot.shelf_id):
                lot.shelf = shelf
                book.lots.keep(lot)
        return book

    # What is there

    def lot_named(self, row: MovementRow) -> Lot:
        lot = self.lots.by_key.get(row.lot)
        if lot is None or (lot.shelf.part_id, lot.shelf.site_id) != row.shelf:
            self.refuse_lot(row)
        return lot

    def refuse_lot(self, row: MovementRow) -> NoReturn:
        refuse(
            row,
            f"No lot “{row.lot}” of this part lies at this site; leave the lot blank "
            "for the oldest first.",
        )

    def posting(self, row: MovementRow, key: str) -> Posting:
        found = self.posted.get(key) or Posting.objects.filter(key=key).first()
        if found is None:
            refuse(row, f"No posting “{key}” to undo; correct the key.")
        return found

    def movement(self, row: MovementRow) -> Movement:
        """The movement that a row answers, as it is after all answers so far."""
        if row.of not in self.named:
            key, _, number = row.of.rpartition("/")
            place = int(number) if number.isdecimal() else 0
            found = Movement.objects.filter(posting__key=key, number=place).first()
            if found is None:
                refuse(row, f"No movement “{row.of}” to answer; correct its key and number.")
            self._name(row.of, found, list(net_of(found)))
        return self.named[row.of]

    def _name(self, name: str, movement: Movement, net: list[int]) -> None:
        self.named[name] = movement
        self.net[name] = net
        if movement.lot.key in self.lots.by_key:
            movement.lot = self.lots.by_key[movement.lot.key]

    # What happens

    def open_posting(
        self,
        row: MovementRow,
        *,
        undoes: Posting | None = None,
        hold: Hold | None = None,
        hold_pieces: int = 0,
    ) -> Posting:
        posting = Posting(
            key=row.key,
            kind=row.kind,
            occasion=row.occasion,
            occasion_on=row.occasion_on,
            words=row.words,
            happened_at=row.happened_at,
            recorded_at=row.recorded_at or row.happened_at,
            by_id=row.by_id,
            undoes=undoes,
            hold=hold,
            hold_pieces=hold_pieces,
        )
        self.posted[posting.key] = posting
        self.new_postings.append(posting)
        self.touched.clear()
        return posting

    def write_answered(self, lines: Sequence[MovementRow]) -> None:
        """Write what these rows answer, now that no lot is halfway through a posting."""
        answered = (self.named.get(row.of) for row in lines)
        if any(each is not None and each.pk is None for each in answered):
            self.flush()

    def take(self, posting: Posting, lot: Lot, pieces: int) -> Taken:
        taken = take(lot, pieces)
        self._book(posting, lot, -taken.pieces, -taken.cents, "")
        return taken

    def put(self, posting: Posting, lot: Lot, pieces: int, cents: int, of: str = "") -> None:
        """Into a lot that is there, or out of it when below 0."""
        lot.pieces_left += pieces
        lot.cents_left += cents
        self._book(posting, lot, pieces, cents, of)

    def open_lot(
        self,
        posting: Posting,
        row: MovementRow,
        *,
        pieces: int,
        cents: int,
        sources: Sequence[Lot] = (),
    ) -> None:
        """A lot of its own; what the row does not tell of it is as its origin has it."""
        occasion = self.named[row.of].posting.occasion if row.of else ""
        facts = lot_facts(row, sources, occasion)
        source = facts.pop("from_lot", None)
        lot = Lot(
            key=row.lot or f"{posting.key}/{self.numbers[posting.key] + 1}",
            shelf=self.shelves[row.shelf],
            pieces_received=pieces,
            cents_received=cents,
            pieces_left=pieces,
            cents_left=cents,
            **{"received_on": self.sites[row.site_id].day_of(row.happened_at)} | facts,
        )
        self.lots.keep(lot)
        self.new_lots.append((lot, source))
        self._book(posting, lot, pieces, cents, row.of)

    def _book(self, posting: Posting, lot: Lot, pieces: int, cents: int, of: str) -> None:
        self.numbers[posting.key] += 1
        answered = self.named[of] if of else None
        movement = Movement(
            posting=posting,
            number=self.numbers[posting.key],
            lot=lot,
            part_id=lot.shelf.part_id,
            site_id=lot.shelf.site_id,
            pieces=pieces,
            cents=cents,
            of=answered,
        )
        self.new_movements.append(movement)
        self._name(f"{posting.key}/{movement.number}", movement, [pieces, cents])
        if of:
            self._count_answer(of, pieces, cents)
        if posting.undoes and answered is not None and answered.of is not None:
            # What this undoes had answered another, which it now does no longer.
            self._count_answer(self._name_of(answered.of), -answered.pieces, -answered.cents)
        delta = self.deltas[lot.shelf.part_id, lot.shelf.site_id]
        delta.on_hand += pieces
        delta.usable += pieces if lot.is_usable else 0
        self.touched.append(lot)
        self.lots.refile(lot)
        if lot.pk is not None:
            self.changed[lot.pk] = lot

    def _count_answer(self, of: str, pieces: int, cents: int) -> None:
        self.net[of][0] += pieces
        self.net[of][1] += cents

    def _name_of(self, movement: Movement) -> str:
        name = f"{movement.posting.key}/{movement.number}"
        if name not in self.net:
            self._name(name, movement, list(net_of(movement)))
        return name

    def ask(self, posting: Posting, row: MovementRow, pieces: int, number: int) -> None:
        """What leaves the shelf was wanted."""
        name = f"{posting.key}:ask"
        ask = Ask(
            key=name if number == 1 else f"{name}{number}",
            part_id=row.part_id,
            site_id=row.site_id,
            pieces=pieces,
            job_key=posting.occasion,
            at=posting.happened_at,
            day=self.sites[row.site_id].day_of(posting.happened_at),
            by_id=posting.by_id,
        )
        outcome = AskOutcome(
            # Number 1 is kept for an ask that was there before the issue.
            key=f"{name}/{number + 1}",
            how=How.SHELF,
            pieces=pieces,
            at=posting.happened_at,
            posting=posting,
        )
        self.new_asks.append((ask, outcome))

    def use_hold(self, row: MovementRow, pieces: int) -> Hold:
        hold, less = self.promised.use(row, pieces, self.shelves[row.shelf])
        self.deltas[row.shelf].held -= less
        return hold

    def restore_hold(self, row: MovementRow, undone: Posting) -> None:
        self.deltas[row.shelf].held += self.promised.restore(undone)

    # What is written

    def flush(self) -> None:
        """Write what waits, in the order in which it happened."""
        self.promised.write_fresh()
        Posting.objects.bulk_create(self.new_postings, batch_size=AT_A_TIME)
        Lot.objects.bulk_create([lot for lot, _ in self.new_lots], batch_size=AT_A_TIME)
        for lot, source in self.new_lots:
            if source is not None:
                lot.from_lot = source
                self.changed[lot.pk] = lot
        Movement.objects.bulk_create(self.new_movements, batch_size=AT_A_TIME)
        Ask.objects.bulk_create([ask for ask, _ in self.new_asks], batch_size=AT_A_TIME)
        for ask, outcome in self.new_asks:
            outcome.ask = ask
        AskOutcome.objects.bulk_create([told for _, told in self.new_asks], batch_size=AT_A_TIME)
        for waiting in (self.new_postings, self.new_lots, self.new_movements, self.new_asks):
            waiting.clear()

    def settle(self) -> None:
        """Write what waits and the lots as they are now, so that queries see them."""
        self.flush()
        # All of these are there: this is an UPDATE of many rows, four times as fast as bulk_update.
        Lot.objects.bulk_create(
            self.changed.values(),
            update_conflicts=True,
            unique_fields=["id"],
            update_fields=LEFT,
            batch_size=AT_A_TIME,
        )
        self.changed.clear()

    def close(self) -> None:
        self.settle()
        self.promised.write()
        for key, delta in sorted(self.deltas.items()):
            if change_shelf(key, delta) is None:
                raise RefusedRowError(index=self.rows_of[key], sentence=refusal(key, delta, "post"))
        for last in self.afterwards:
            last()
