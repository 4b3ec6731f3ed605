"""Every sheet the workbook knows, in the order in which they name one another."""

from collections.abc import Iterable, Mapping
from functools import cache

from inventory.catalog.sheets import SHEETS as CATALOG
from inventory.sheet import Sheet
from inventory.shop.sheets import SHEETS as SHOP
from shopparts.workbook.people import PEOPLE


@cache
def sheets() -> dict[str, Sheet]:
    """All sheets by title, what is named before what names it."""
    return in_order([*SHOP, PEOPLE, *CATALOG])


def in_order(declared: Iterable[Sheet]) -> dict[str, Sheet]:
    """The sheets by title, each after those it needs, else as declared.

    Raises
    ------
    LookupError
        If a sheet needs one that is not declared, or compares a key otherwise than its owner.
    """
    known = {sheet.title: sheet for sheet in declared}
    for sheet in known.values():
        if missing := sheet.needs() - known.keys():
            raise LookupError(f"“{sheet.title}” needs the sheet “{missing.pop()}”; declare it.")
        for column in sheet.columns:
            if column.to and column.same is not known[column.to].key_columns[-1].same:
                raise LookupError(
                    f"“{sheet.title}” compares “{column.heading}” otherwise than the sheet "
                    f"“{column.to}” does; declare the same function."
                )
    placed: dict[str, Sheet] = {}
    for title in known:
        _place(title, known, placed)
    return placed


def _place(title: str, known: Mapping[str, Sheet], placed: dict[str, Sheet]) -> None:
    for needed in known:
        if needed in known[title].needs() and needed not in placed:
            _place(needed, known, placed)
    placed.setdefault(title, known[title])
