"""Rows that answer an earlier movement: what is returned, undone or corrected."""

from collections.abc import Sequence

from inventory.ledger.book import Book
from inventory.ledger.lots import share_of
from inventory.ledger.models import Condition, Lot, Movement, Posting, PostingKind
from inventory.ledger.rows import MovementRow, refuse


def check_answer(book: Book, row: MovementRow, cents: int) -> Movement:
    """Never more comes back than went, in pieces or in cents."""
    of = book.movement(row)
    _check_same(row, of)
    pieces, worth = book.net[row.of]
    if row.pieces and (row.pieces * pieces >= 0 or abs(row.pieces) > abs(pieces)):
        refuse(
            row,
            f"Only {abs(pieces)} pieces of movement “{row.of}” are open, not {abs(row.pieces)}; "
            "answer fewer.",
        )
    if row.pieces and abs(cents) > abs(worth):
        refuse(row, f"More cents come back than movement “{row.of}” took; correct the value.")
    if row.undoes and row.pieces != -of.pieces:
        refuse(row, f"An undo takes back all of movement “{row.of}”; write {-of.pieces}.")
    return of


def _check_same(row: MovementRow, of: Movement) -> None:
    if (of.part_id, of.site_id) != row.shelf:
        refuse(row, f"Movement “{row.of}” is of another part or site; correct one.")
    if row.undoes and of.posting.key != row.undoes:
        refuse(row, f"Movement “{row.of}” is not of the posting “{row.undoes}”; correct one.")
    if row.kind == PostingKind.RETURNED:
        if of.posting.kind != PostingKind.ISSUED:
            refuse(row, "Only an issue can be returned; choose a line that was issued.")
        _check_seal(row, of)


def _check_seal(row: MovementRow, of: Movement) -> None:
    sealed = (row.condition or Condition.SEALED) == Condition.SEALED
    if sealed and of.lot.condition != Condition.SEALED:
        refuse(
            row,
            f"{of.lot.shelf.part.number} left opened and cannot come back sealed; "
            "return it as opened or checked.",
        )


def answer(book: Book, posting: Posting, row: MovementRow) -> None:
    of = book.movement(row)
    pieces, worth = book.net[row.of]
    share = share_of(abs(worth), abs(row.pieces), abs(pieces)) if pieces else 0
    cents = row.cents if row.cents is not None else share if row.pieces > 0 else -share
    check_answer(book, row, cents)
    comes_back = row.condition or Condition.SEALED
    as_it_was = row.kind == PostingKind.UNDONE or (
        comes_back in Condition.usable() and comes_back == of.lot.condition
    )
    if row.lot in book.lots.by_key:
        book.put(posting, book.lot_named(row), row.pieces, cents, row.of)
    elif as_it_was and not row.lot and of.lot.key in book.lots.by_key:
        book.put(posting, of.lot, row.pieces, cents, row.of)
    elif row.pieces > 0:
        book.open_lot(posting, row, pieces=row.pieces, cents=cents, sources=[of.lot])
    else:
        book.refuse_lot(row)


def correct_receipt(book: Book, row: MovementRow, lot: Lot) -> None:
    """A correction, or the undo of one, of pieces that came in changes what the lot cost."""
    of = book.movement(row) if row.of and row.pieces == 0 else None
    while of is not None and of.pieces == 0:
        of = of.of
    if of is not None and of.pieces > 0:
        lot.cents_received += row.cents or 0


def undone_by(book: Book, lines: Sequence[MovementRow]) -> Posting | None:
    """The posting that these rows undo, whole and once."""
    row = lines[0]
    if not row.undoes:
        return None
    undone = book.posting(row, row.undoes)
    if undone.undoes_id or undone.undoes:
        refuse(row, f"“{row.undoes}” is itself an undo; post the movement again instead.")
    if undone.key in book.undone or (
        undone.pk and Posting.objects.filter(undoes=undone.pk).exists()
    ):
        refuse(row, f"“{row.undoes}” was undone already; leave the row out.")
    _check_whole_undo(book, undone, lines)
    book.undone.add(undone.key)
    if undone.pk is None:
        book.flush()
    return undone


def _check_whole_undo(book: Book, undone: Posting, lines: Sequence[MovementRow]) -> None:
    count = book.numbers.get(undone.key) or undone.movements.count()
    names = {f"{undone.key}/{number}" for number in range(1, count + 1)}
    if {row.of for row in lines} != names:
        refuse(
            lines[0],
            f"An undo answers every movement of “{undone.key}”, from 1 to {count}; "
            "add the rows that are missing.",
        )
