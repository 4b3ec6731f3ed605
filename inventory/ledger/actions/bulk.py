"""Many postings at once, as a workbook or the demo brings them, in order of recording.

By the same rules as everyday postings, worked out on lots in memory. All is written or nothing;
what cannot be is said by row. A row that tells its lot and its cents is taken as it is told, so
that a ledger can be carried from one shop's database to another; the audit proves it there.
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from functools import partial

from django.db import transaction

from inventory.ledger.actions.answering import (
    answer,
    check_answer,
    correct_receipt,
    undone_by,
)
from inventory.ledger.actions.asking import reverse_outcomes, withdraw_served
from inventory.ledger.book import AT_A_TIME, Book
from inventory.ledger.costs import last_cost, weights
from inventory.ledger.lots import Taken, share_of, split_evenly
from inventory.ledger.models import Condition, Lot, Posting, PostingKind
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
    book.write_answered(lines)
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
    undone = undone_by(book, lines)
    if undone is not None:
        book.restore_hold(first, undone)
    return book.open_posting(first, undoes=undone)


# Rows that leave nothing to work out


def _post_as_told(book: Book, posting: Posting, lines: Sequence[MovementRow]) -> None:
    out: list[MovementRow] = []
    for row in lines:
        cents = row.cents or 0
        if row.of:
            check_answer(book, row, cents)
        if row.lot in book.lots.by_key:
            lot = book.lot_named(row)
            if row.pieces > 0 and not row.of:
                refuse(row, f"Lot “{row.lot}” is there already; leave the lot blank for a new one.")
            _refuse_unsold(row, lot)
            book.put(posting, lot, row.pieces, cents, row.of)
            correct_receipt(book, row, lot)
            if row.pieces < 0:
                out.append(row)
        elif row.pieces > 0:
            sources = _sources(book, row, out)
            book.open_lot(posting, row, pieces=row.pieces, cents=cents, sources=sources)
        else:
            book.refuse_lot(row)


def _sources(book: Book, row: MovementRow, out: list[MovementRow]) -> list[Lot]:
    """The lots that a lot came of: by its pieces where it moved, else all that went out."""
    if row.of:
        return [book.movement(row).lot]
    if row.kind != PostingKind.MOVED:
        return [book.lots.by_key[each.lot] for each in out]
    same = (each for each in out if (each.part_id, each.pieces) == (row.part_id, -row.pieces))
    if (found := next(same, None)) is None:
        return []
    out.remove(found)
    return [book.lots.by_key[found.lot]]


# Rows that leave something to work out: what goes out first, then what comes in


def _post_worked_out(book: Book, posting: Posting, lines: Sequence[MovementRow]) -> None:
    gone: dict[int, deque[Taken]] = defaultdict(deque)
    for row in lines:
        if row.of:
            answer(book, posting, row)
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
    wanted = -row.pieces
    if row.lot:
        lots = [book.lot_named(row)]
        _refuse_unsold(row, lots[0])
    else:
        # With a bin, only the pieces in that bin were counted.
        counted = row.bin_id if row.kind == PostingKind.COUNTED else None
        lots = book.lots.oldest(row.shelf, wanted, counted)
    free = sum(lot.pieces_left for lot in lots)
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
    for issue, pieces in _brought_back(book, lines):
        book.afterwards.append(partial(withdraw_served, issue, pieces=pieces, by_posting=posting))
    if posting.undoes and posting.undoes.kind == PostingKind.RETURNED:
        book.afterwards.append(partial(reverse_outcomes, posting.undoes, by_posting=posting))


def _brought_back(book: Book, lines: Sequence[MovementRow]) -> list[tuple[Posting, int]]:
    """Issues and the pieces that come back of each: what one took from two lots was one wish."""
    back: dict[str, tuple[Posting, int]] = {}
    for row in lines:
        issue = book.movement(row).posting if row.of else None
        if issue is not None and issue.kind == PostingKind.ISSUED and row.pieces > 0:
            before = back.get(issue.key, (issue, 0))[1]
            back[issue.key] = issue, before + row.pieces
    return list(back.values())
