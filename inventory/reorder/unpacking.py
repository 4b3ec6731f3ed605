"""Counting a delivery at the scanner: what one entry does to the counts on the page.

Nothing is written here. The counts stand in the form until the delivery is received, so that an
entry that is sent twice from one page counts once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.catalog.models import Part
from inventory.catalog.names import parts_coded
from inventory.reorder.models import OrderLine

# A number this short, typed after a part, is how many of it came; codes on boxes are longer.
LONGEST_COUNT = 4
LARGEST = 99_999


@dataclass(frozen=True, slots=True, kw_only=True)
class Counting:
    """The page's fields after an entry, what to say of it, and a code that no part has yet."""

    fields: dict[str, str]
    words: str
    sound: bool = True
    unknown: str = ""


def count_entry(fields: Mapping[str, str], entry: str, lines: Sequence[OrderLine]) -> Counting:
    """One more of the part whose code was scanned, or the count of the part scanned last."""
    given, entry = dict(fields), entry.strip()
    if not entry:
        return Counting(fields=given, words="Scan a part, or type how many of the last came.")
    parts = parts_coded(entry)
    if not parts and _is_count(entry) and given.get("last"):
        return _set_count(given, int(entry), lines)
    line = _line_for(given, {part.pk for part in parts}, lines)
    if line is not None:
        given["last"] = f"pieces_{line.pk}"
        return _set_count(given, whole(given.get(given["last"])) + 1, lines)
    return _count_unordered(given, entry, parts)


def count_all(fields: Mapping[str, str], lines: Sequence[OrderLine]) -> Counting:
    """Every line as it was ordered; what is short is then corrected by hand."""
    came = {f"pieces_{line.pk}": str(line.pieces_open) for line in lines}
    return Counting(fields=dict(fields) | came, words="All lines are counted as ordered.")


def _is_count(entry: str) -> bool:
    return entry.isascii() and entry.isdigit() and len(entry) <= LONGEST_COUNT


def _line_for(
    given: Mapping[str, str], parts: set[int], lines: Sequence[OrderLine]
) -> OrderLine | None:
    """The first line of the part that is not complete yet, else its last: too many came."""
    found = [line for line in lines if line.part_id in parts]
    wanting = [line for line in found if whole(given.get(f"pieces_{line.pk}")) < line.pieces_open]
    return next(iter(wanting), found[-1] if found else None)


def _set_count(given: dict[str, str], count: int, lines: Sequence[OrderLine]) -> Counting:
    field = given["last"]
    given[field] = str(count)
    line = next((line for line in lines if f"pieces_{line.pk}" == field), None)
    if line is None:
        return Counting(fields=given, words=f"{count} of the part that was not ordered.")
    open_pieces = line.pieces_open
    if count > open_pieces:
        told = f"{count} of {line.part}, {count - open_pieces} more than are still to come."
    elif count == open_pieces:
        told = f"{count} of {line.part}: complete."
    else:
        told = f"{count} of {line.part}, {open_pieces - count} missing."
    return Counting(fields=given, words=told, sound=count <= open_pieces)


def _count_unordered(given: dict[str, str], entry: str, parts: Sequence[Part]) -> Counting:
    # A number typed next must not count another part than the one in hand.
    given["last"] = ""
    if not parts:
        told = f"No part has the code “{entry}”; check it, or type the part's own number."
        return Counting(fields=given, words=told, sound=False, unknown=entry)
    if len(parts) > 1:
        told = f"Several parts have the code “{entry}”; type the part's own number instead."
        return Counting(fields=given, words=told, sound=False)
    part = parts[0]
    given["last"] = f"other_{part.pk}"
    given[given["last"]] = str(whole(given.get(given["last"])) + 1)
    told = f"{part} was not ordered: send it back, or keep it and say what it cost."
    return Counting(fields=given, words=told, sound=False)


def whole(value: object) -> int:
    """A count as typed; 0 while it is blank or no number."""
    text = str(value or "").strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) <= len(str(LARGEST)) else 0
