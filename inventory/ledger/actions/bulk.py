"""Many postings at once, as a workbook or the demo brings them, in order of recording.

By the same rules as everyday postings, worked out on lots in memory. All is written or nothing;
what cannot be is said by row. A row that tells its lot and its cents is taken as it is told, so
that a ledger can be carried from one shop's database to another; the audit proves it there.
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from functools import partial

from django.db import transaction

from inventory.ledger.actions.asking import reverse_outcomes, withdraw_served
from inventory.ledger.book import AT_A_TIME, Book
from inventory.ledger.costs import last_cost, weights
from inventory.ledger.lots import Taken, share_of, split_evenly
from inventory.ledger.models import Condition, Lot, Movement, Posting, PostingKind
from inventory.ledger.rows import (
    MovementRow,
    RefusedRowError,
    by_posting,
    check_lines,
    in_order,
    refuse,
)

__all__ = ["MovementRow", "RefusedRowError", "record_postings"]

MADE = frozenset({PostingKind.PUT_TOGETHER, PostingKind.TAKEN_APART})
BALANCED = MADE | {PostingKind.MOVED}
NEEDS_A_VALUE = frozenset({PostingKind.OPENING, PostingKind.RECEIVED})


def record_postings(rows: Iterable[MovementRow]) -> int:
    """Post everything that is not posted yet, in order of recording; returns how many postings.

    Raises
    ------
    RefusedRowError
        Naming the row, if one cannot be; nothing is written then.
    """
    grouped = by_posting(rows)
    _drop_posted(grouped)
    if not grouped:
        return 0
    with transaction.atomic():
        book = Book.of(row for lines in grouped.values() for row in lines)
        # What another writer posted while this one waited for the shelves.
        _drop_posted(grouped)
        for lines in in_order(grouped.values()):
            _post(book, lines)
            if len(book.new_movements) >= AT_A_TIME:
                book.flush()
        book.close()
    return len(grouped)


def _drop_posted(grouped: dict[str, list[MovementRow]]) -> None:
    keys = list(grouped)
    for start in range(0, len(keys), AT_A_TIME):
        there = Posting.objects.filter(key__in=keys[start : start + AT_A_TIME])
        for key in there.values_list("key", flat=True):
            del grouped[key]


def _post(book: Book, lines: Sequence[MovementRow]) -> None:
    check_lines(lines, parts=book.parts, sites=book.sites, bins=book.bins)
    first = lines[0]
    if not first.part_id:
        book.open_posting(first)
        return
    posting = _opened(book, first, lines)
    if all(row.is_whole for row in lines):
        _post_as_told(book, posting, lines)
    else:
        _post_worked_out(book, posting, lines)
    _check_lots(book, first)
    _check_balance(book, posting, first)
    if not first.answers_ask:
        _tell_asks(book, posting, lines)


def _opened(book: Book, first: MovementRow, lines: Sequence[MovementRow]) -> Posting:
    if first.hold:
        pieces = first.hold_pieces or -sum(row.pieces for row in lines)
        hold = book.use_hold(first, pieces)
        return book.open_posting(first, hold=hold, hold_pieces=pieces)
    undone = _undone(book, first)
    if undone is not None:
        _check_whole_undo(book, undone, lines)
        book.restore_hold(undone)
    return book.open_posting(first, undoes=undone)


def _check_whole_undo(book: Book, undone: Posting, lines: Sequence[MovementRow]) -> None:
    count = book.numbers.get(undone.key) or undone.movements.count()
    names = {f"{undone.key}/{number}" for number in range(1, count + 1)}
    if {row.of for row in lines} != names:
        refuse(
            lines[0],
            f"An undo answers every movement of “{undone.key}”, from 1 to {count}; "
            "add the rows that are missing.",
        )


def _undone(book: Book, row: MovementRow) -> Posting | None:
    if not row.undoes:
        return None
    undone = book.posting(row, row.undoes)
    if undone.undoes_id or undone.undoes:
        refuse(row, f"“{row.undoes}” is itself an undo; post the movement again instead.")
    if undone.key in book.undone or (
        undone.pk and Posting.objects.filter(undoes=undone.pk).exists()
    ):
        refuse(row, f"“{row.undoes}” was undone already; leave the row out.")
    book.undone.add(undone.key)
    if undone.pk is None:
        book.flush()
    return undone


# Rows that leave nothing to work out


def _post_as_told(book: Book, posting: Posting, lines: Sequence[MovementRow]) -> None:
    out: list[MovementRow] = []
    for row in lines:
        cents = row.cents or 0
        if row.of:
            _check_answer(book, row, cents)
        if row.lot in book.by_key:
            lot = _named(book, row)
            if row.pieces > 0 and not row.of:
                refuse(row, f"Lot “{row.lot}” is there already; leave the lot blank for a new one.")
            _refuse_unsold(row, lot)
            book.put(posting, lot, row.pieces, cents, row.of)
            _correct_receipt(book, row, lot)
            if row.pieces < 0:
                out.append(row)
        elif row.pieces > 0:
            sources = _sources(book, row, out)
            book.open_lot(posting, row, pieces=row.pieces, cents=cents, sources=sources)
        else:
            refuse(row, _no_lot(row))


def _correct_receipt(book: Book, row: MovementRow, lot: Lot) -> None:
    """A correction, or the undo of one, of pieces that came in changes what the lot cost."""
    of = book.movement(row) if row.of and row.pieces == 0 else None
    while of is not None and of.pieces == 0:
        of = of.of
    if of is not None and of.pieces > 0:
        lot.cents_received += row.cents or 0


def _sources(book: Book, row: MovementRow, out: list[MovementRow]) -> list[Lot]:
    """The lots that a lot came of: by its pieces where it moved, else all that went out."""
    if row.of:
        return [book.movement(row).lot]
    if row.kind != PostingKind.MOVED:
        return [book.by_key[each.lot] for each in out]
    same = (each for each in out if (each.part_id, each.pieces) == (row.part_id, -row.pieces))
    if (found := next(same, None)) is None:
        return []
    out.remove(found)
    return [book.by_key[found.lot]]


# Rows that leave something to work out: what goes out first, then what comes in


def _post_worked_out(book: Book, posting: Posting, lines: Sequence[MovementRow]) -> None:
    gone: dict[int, deque[Taken]] = defaultdict(deque)
    for row in lines:
        if row.of:
            _answer(book, posting, row)
        elif row.pieces < 0:
            gone[row.part_id].extend(_take(book, posting, row))
    incoming = [row for row in lines if row.pieces > 0 and not row.of]
    if posting.kind == PostingKind.MOVED:
        for row in incoming:
            _move_in(book, posting, row, gone[row.part_id])
        return
    taken = [each for queue in gone.values() for each in queue]
    cents = _worth(book, posting, incoming, taken)
    sources = [each.lot for each in taken]
    for row in incoming:
        told = cents[row.index] if row.cents is None else row.cents
        book.open_lot(posting, row, pieces=row.pieces, cents=told, sources=sources)


def _take(book: Book, posting: Posting, row: MovementRow) -> list[Taken]:
    if row.lot:
        lots = [_named(book, row)]
        _refuse_unsold(row, lots[0])
    else:
        lots = book.usable(row.shelf)
    wanted, free = -row.pieces, sum(lot.pieces_left for lot in lots)
    if free < wanted:
        part, site = book.parts[row.part_id], book.sites[row.site_id]
        refuse(
            row,
            f"Only {free} of {part.number} on the shelf at {site} by then, "
            f"not {wanted}; post {free} or fewer, or receive stock first.",
        )
    taken = []
    for lot in lots:
        if count := min(lot.pieces_left, wanted):
            taken.append(book.take(posting, lot, count))
            wanted -= count
    return taken


def _named(book: Book, row: MovementRow) -> Lot:
    lot = book.by_key.get(row.lot)
    if lot is None or (lot.shelf.part_id, lot.shelf.site_id) != row.shelf:
        refuse(row, _no_lot(row))
    return lot


def _no_lot(row: MovementRow) -> str:
    return (
        f"No lot “{row.lot}” of this part lies at this site; leave the lot blank "
        "for the oldest first."
    )


def _refuse_unsold(row: MovementRow, lot: Lot) -> None:
    sold = lot.is_usable or lot.condition == Condition.PREPARED
    if row.kind == PostingKind.ISSUED and not sold:
        refuse(
            row,
            f"Lot {lot.key} is {lot.get_condition_display().lower()}; "
            "check it and mark it checked before it is issued.",
        )


def _move_in(book: Book, posting: Posting, row: MovementRow, gone: deque[Taken]) -> None:
    """What went out comes in with its own cents: one lot for each that it was taken from."""
    wanted = row.pieces
    while wanted and gone:
        taken = gone.popleft()
        count = min(wanted, taken.pieces)
        cents = share_of(taken.cents, count, taken.pieces)
        if rest := taken.pieces - count:
            gone.appendleft(Taken(lot=taken.lot, pieces=rest, cents=taken.cents - cents))
        book.open_lot(posting, row, pieces=count, cents=cents, sources=[taken.lot])
        wanted -= count
    if wanted:
        refuse(row, "More pieces arrive than left; correct it.")


def _worth(
    book: Book, posting: Posting, incoming: Sequence[MovementRow], gone: Sequence[Taken]
) -> dict[int, int]:
    """Cents of each row that does not tell them."""
    untold = [row for row in incoming if row.cents is None]
    if not untold:
        return {}
    if posting.kind in MADE:
        left = sum(taken.cents for taken in gone) - sum(row.cents or 0 for row in incoming)
        book.settle()
        pieces = [(book.parts[row.part_id], row.pieces) for row in untold]
        shares = split_evenly(left, weights(pieces, book.sites[untold[0].site_id]))
        return {row.index: share for row, share in zip(untold, shares, strict=True)}
    return {row.index: _bought_for(book, posting, row) for row in untold}


def _bought_for(book: Book, posting: Posting, row: MovementRow) -> int:
    if posting.kind == PostingKind.TAKEN_OFF:
        return 0
    if posting.kind in NEEDS_A_VALUE:
        refuse(row, "The value is missing; write what they cost.")
    book.settle()
    cost = last_cost(book.parts[row.part_id], book.sites[row.site_id])
    if cost is None:
        refuse(
            row,
            f"{book.parts[row.part_id].number} was never bought, so its cost is not known; "
            "write what they cost.",
        )
    return share_of(cost.cents, row.pieces, cost.pieces)


# Answers: returned, undone


def _check_answer(book: Book, row: MovementRow, cents: int) -> Movement:
    """Never more comes back than went, in pieces or in cents."""
    of = book.movement(row)
    pieces, worth = book.net[row.of]
    if row.pieces and (row.pieces * pieces >= 0 or abs(row.pieces) > abs(pieces)):
        refuse(
            row,
            f"Only {abs(pieces)} pieces of movement “{row.of}” are open, not {abs(row.pieces)}; "
            "answer fewer.",
        )
    if row.pieces and abs(cents) > abs(worth):
        refuse(row, f"More cents come back than movement “{row.of}” took; correct the value.")
    _check_seal(row, of)
    if row.undoes and row.pieces != -of.pieces:
        refuse(row, f"An undo takes back all of movement “{row.of}”; write {-of.pieces}.")
    if row.undoes and of.posting.key != row.undoes:
        refuse(row, f"Movement “{row.of}” is not of the posting “{row.undoes}”; correct one.")
    return of


def _check_seal(row: MovementRow, of: Movement) -> None:
    sealed = (row.condition or Condition.SEALED) == Condition.SEALED
    if row.kind == PostingKind.RETURNED and sealed and of.lot.condition != Condition.SEALED:
        refuse(
            row,
            f"{of.lot.shelf.part.number} left opened and cannot come back sealed; "
            "return it as opened or checked.",
        )


def _answer(book: Book, posting: Posting, row: MovementRow) -> None:
    of = book.movement(row)
    pieces, worth = book.net[row.of]
    share = share_of(abs(worth), abs(row.pieces), abs(pieces)) if pieces else 0
    cents = row.cents if row.cents is not None else share if row.pieces > 0 else -share
    _check_answer(book, row, cents)
    comes_back = row.condition or Condition.SEALED
    as_it_was = row.kind == PostingKind.UNDONE or (
        comes_back in Condition.usable() and comes_back == of.lot.condition
    )
    if row.lot in book.by_key:
        book.put(posting, _named(book, row), row.pieces, cents, row.of)
    elif as_it_was and not row.lot and of.lot.key in book.by_key:
        book.put(posting, of.lot, row.pieces, cents, row.of)
    elif row.pieces > 0:
        book.open_lot(posting, row, pieces=row.pieces, cents=cents, sources=[of.lot])
    else:
        refuse(row, _no_lot(row))


# The posting as a whole


def _check_lots(book: Book, row: MovementRow) -> None:
    for lot in book.touched:
        if lot.pieces_left < 0:
            refuse(row, f"Lot {lot.key} would have {lot.pieces_left} pieces left; correct it.")
        if lot.cents_left < 0 or (lot.cents_left and not lot.pieces_left):
            refuse(
                row,
                f"Lot {lot.key} would have {lot.pieces_left} pieces left for "
                f"{lot.cents_left} cents; correct the value.",
            )


def _check_balance(book: Book, posting: Posting, row: MovementRow) -> None:
    booked = [
        book.named[f"{posting.key}/{number}"] for number in range(1, book.numbers[posting.key] + 1)
    ]
    cents = sum(each.cents for each in booked)
    if posting.kind in BALANCED and cents:
        refuse(row, f"{cents} cents come in more than go out; correct the values.")
    if posting.kind == PostingKind.MOVED and sum(each.pieces for each in booked) != 0:
        refuse(row, "As many pieces arrive as leave; correct it.")


def _tell_asks(book: Book, posting: Posting, lines: Sequence[MovementRow]) -> None:
    """What left was wanted; what came back was not wanted after all."""
    if posting.kind == PostingKind.ISSUED:
        wanted: dict[tuple[int, int], list[MovementRow]] = defaultdict(list)
        for row in lines:
            wanted[row.shelf].append(row)
        for number, rows in enumerate(wanted.values(), start=1):
            book.ask(posting, rows[0], -sum(row.pieces for row in rows), number)
        return
    for row in lines:
        issue = book.movement(row).posting if row.of else None
        if issue is not None and issue.kind == PostingKind.ISSUED and row.pieces > 0:
            book.afterwards.append(
                partial(withdraw_served, issue, pieces=row.pieces, by_posting=posting)
            )
    if posting.undoes and posting.undoes.kind == PostingKind.RETURNED:
        book.afterwards.append(partial(reverse_outcomes, posting.undoes, by_posting=posting))
