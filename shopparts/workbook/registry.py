"""Every sheet the workbook knows, in the order in which they name one another."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from django.core.exceptions import ValidationError

from inventory.catalog.sheets import SHEETS as CATALOG
from inventory.ledger.sheets import SHEETS as LEDGER
from inventory.reorder.sheets import SHEETS as REORDER
from inventory.sheet import Check, Column, Refusal, Row, Sheet
from inventory.shop.models import ShopSettings
from inventory.shop.sheets import SHEETS as SHOP
from jobs.workshop.sheets import SHEETS as WORKSHOP
from shopparts.shop_upkeep import CURRENCY, refuse_with_money
from shopparts.workbook.people import PEOPLE

OWNERS_ONLY = {
    "People": "Only an owner adds or changes people; take this row out or ask an owner.",
    "Shop": "Only an owner changes the shop's settings; take this row out or ask an owner.",
}


@cache
def sheets() -> dict[str, Sheet]:
    """All sheets by title, what is named before what names it."""
    shop, *places = SHOP
    return in_order(
        [_in_one_currency(shop), *places, PEOPLE, *CATALOG, *LEDGER, *REORDER, *WORKSHOP]
    )


def sheets_for(by: Any) -> dict[str, Sheet]:
    """The sheets as this person may load them: people and settings are an owner's."""
    if by is None or by.is_owner:
        return sheets()
    return sheets() | {title: _for_owners(sheets()[title]) for title in OWNERS_ONLY}


def _for_owners(sheet: Sheet) -> Sheet:
    def refusals(rows: Sequence[Row]) -> Iterator[Refusal]:
        changed = {change.pk for change in sheet.compare(rows)}
        for index, row in enumerate(rows):
            if row["pk"] is None or row["pk"] in changed:
                yield Refusal(index=index, field="", sentence=OWNERS_ONLY[sheet.title])

    return replace(sheet, checker=lambda: refusals)


def _in_one_currency(shop: Sheet) -> Sheet:
    """The shop's sheet, which changes the currency only while no amount is written in it."""

    def checker() -> Check:
        check = shop.checker()

        def refusals(rows: Sequence[Row]) -> Iterator[Refusal]:
            yield from check(rows)
            moved = {change.field for change in shop.compare(rows)} & set(CURRENCY)
            try:
                if moved:
                    refuse_with_money(ShopSettings.load())
            except ValidationError as refusal:
                yield Refusal(index=0, field=moved.pop(), sentence=refusal.messages[0])

        return refusals

    return replace(shop, checker=checker)


def in_order(declared: Iterable[Sheet]) -> dict[str, Sheet]:
    """The sheets by title, each after those it needs, else as declared.

    A reference is read and compared as the column it names, which only its owner declares.

    Raises
    ------
    LookupError
        If a sheet needs one that is not declared.
    """
    known = {sheet.title: sheet for sheet in declared}
    placed: dict[str, Sheet] = {}
    for title in known:
        _place(title, known, placed)
    return placed


def _place(title: str, known: Mapping[str, Sheet], placed: dict[str, Sheet]) -> None:
    if title in placed:
        return
    sheet = known[title]
    if missing := sheet.needs() - known.keys():
        raise LookupError(f"“{title}” needs the sheet “{missing.pop()}”; declare it.")
    for needed in known:
        if needed in sheet.needs():
            _place(needed, known, placed)
    columns = tuple(
        _as_named(column, placed.get(column.to, sheet)) if column.to else column
        for column in sheet.columns
    )
    placed[title] = replace(sheet, columns=columns)


def _as_named(column: Column, target: Sheet) -> Column:
    named = target.key_columns[-1]
    return replace(
        column, kind=named.kind, same=named.same, longest=named.longest, choices=named.choices
    )
