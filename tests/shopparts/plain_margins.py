"""What every job of the demo earned, worked out a second time from the bare rows of its workbook.

Shares no code with the project and knows only its rules: the oldest made leaves first, an undated
lot counts by its receipt, cents go with pieces to the nearest cent and the last piece takes what
is left.
"""

from collections import defaultdict
from typing import Any

_KINDS_AT_NO_COST = {"taken_off", "to_supplier"}


def lines_by_job(rows):
    """Price, cost of parts and cost of labour of each job, in cents."""
    cost = issued_cents(rows)
    jobs: defaultdict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for line in rows.of("Job lines"):
        sums = jobs[line["job"]]
        sums[0] += line["price_cents"]
        sums[1] += cost[line["posting"]] if line.get("posting") else 0
        sums[2] += line.get("labour_cost_cents", 0)
    return {job: tuple(sums) for job, sums in jobs.items()}


def issued_cents(rows):
    shelves: defaultdict[tuple[str, str], list[list[Any]]] = defaultdict(list)
    out: defaultdict[str, list[tuple[Any, ...]]] = defaultdict(list)
    cost: defaultdict[str, int] = defaultdict(int)
    for row in rows.of("Postings"):
        shelf = shelves[row["site"], row["part"]]
        if row["kind"] in _KINDS_AT_NO_COST:
            continue
        if row["pieces"] < 0:
            left = taken_oldest(shelf, -row["pieces"])
            out[row["key"]] += left
            if row["kind"] == "issued":
                cost[row["key"]] += sum(cents for _, cents, _ in left)
        else:
            shelf.append(lot_of(row, shelf, out))
    return cost


def taken_oldest(shelf, pieces):
    """(pieces, cents, lot) of each lot touched; a lot is [pieces, cents, order, received with]."""
    taken = []
    for lot in sorted(shelf, key=lambda lot: lot[2]):
        count = min(lot[0], pieces)
        if count:
            cents = (lot[1] * count + lot[0] // 2) // lot[0]
            lot[0], lot[1], pieces = lot[0] - count, lot[1] - cents, pieces - count
            taken.append((count, cents, lot))
    return taken


def lot_of(row, shelf, out):
    received = row.get("received_on") or row["happened_at"].date()
    order = (row.get("made_on") or received, received)
    if row["kind"] == "moved":
        count, cents, source = out[row["key"]].pop(0)
        return [count, cents, source[2], (count, cents)]
    if row["kind"] == "put_together":
        cents = sum(cents for _, cents, _ in out[row["key"]])
    elif row["kind"] == "counted":
        newest = max((lot for lot in shelf if lot[3][1]), key=lambda lot: lot[2][1])
        got, paid = newest[3]
        cents = (paid * row["pieces"] + got // 2) // got
    else:
        cents = row["cents"]
    return [row["pieces"], cents, order, (row["pieces"], cents)]
