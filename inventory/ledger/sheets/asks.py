"""The sheets of what was wanted and what came of it. Never changed once recorded."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db.models import Sum

from inventory.catalog.sheets import PART
from inventory.ledger.models import Ask, AskOutcome, How
from inventory.ledger.sheets.people import BY
from inventory.sheet import Column, Refusal, Row, RowError, Saved, Sheet
from inventory.sheet.records import AT_A_TIME, record_sheet
from inventory.shop.models import Site
from inventory.shop.sheets import SITE


def never_changing(sheet: Sheet) -> Sheet:
    """The sheet of records that are only added to."""

    def checker() -> Callable[[Sequence[Row]], Iterable[Refusal]]:
        inner = sheet.checker()

        def check(rows: Sequence[Row]) -> Iterator[Refusal]:
            yield from inner(rows)
            changed = {one.pk for one in sheet.compare(rows)}
            for index, row in enumerate(rows):
                if row["pk"] in changed:
                    yield Refusal(
                        index=index,
                        field="",
                        sentence=f"This {sheet.one} is recorded already and never changes; "
                        "leave the row as it was.",
                    )

        return check

    return replace(sheet, checker=checker)


_ASKS = record_sheet(
    Ask,
    title="Asks",
    one="ask",
    note="What was wanted, whether or not it was there: the demand that is planned for.",
    key=("key",),
    columns=(
        Column("Ask", "key", example="EX-A-17"),
        PART(),
        SITE(),
        Column("Pieces", "pieces", example=4),
        Column("Job", "job_key", example="EX-J-17"),
        Column("At", "at", example="2026-03-09T14:05:00+00:00"),
        Column("Day", "day", required=False, help="Blank: the site's day of “At”."),
        Column("Wish", "wish", help="The customer's own choice of make or look."),
        BY(),
    ),
)


def _with_days(sheet: Sheet) -> Sheet:
    def filler() -> Callable[[Row], Row]:
        sites = Site.objects.in_bulk()

        def fill(row: Row) -> Row:
            if row.get("day") is not None:
                return row
            site = sites.get(row["site"]) if isinstance(row["site"], int) else None
            return row | {"day": site.day_of(row["at"]) if site else row["at"].date()}

        return fill

    def checker() -> Callable[[Sequence[Row]], Iterable[Refusal]]:
        inner, fill = sheet.checker(), filler()
        return lambda rows: inner([fill(row) for row in rows])

    def save(rows: Iterable[Row], *, by: Any) -> Saved:
        fill = filler()
        return sheet.save((fill(row) for row in rows), by=by)

    def compare(rows: Sequence[Row]) -> Iterable[Any]:
        fill = filler()
        return sheet.compare([fill(row) for row in rows])

    return replace(sheet, checker=checker, save=save, compare=compare)


_OUTCOMES = record_sheet(
    AskOutcome,
    title="Ask outcomes",
    one="outcome",
    note="How pieces of an ask were served, or why not.",
    key=("key",),
    columns=(
        Column("Key", "key", example="EX-A-17/1"),
        Column("Ask", "ask", to="Asks", path="ask__key", example="EX-A-17"),
        Column("How", "how", example="From the shelf"),
        Column("Pieces", "pieces", example=4),
        Column("At", "at", example="2026-03-09T14:05:00+00:00"),
        Column("Posting", "posting", to="Postings", path="posting__key"),
    ),
)


def _save_outcomes(rows: Iterable[Row], *, by: Any) -> Saved:
    """Never more pieces of an ask than were asked for, and never more taken back than was said."""
    told: dict[int, int] = {}

    def noted() -> Iterator[Row]:
        for index, row in enumerate(rows):
            if row["pk"] is None:
                told.setdefault(row["ask"], index)
            yield row

    saved = _OUTCOMES.save(noted(), by=by)
    asks = list(told)
    for start in range(0, len(asks), AT_A_TIME):
        _refuse_too_many(asks[start : start + AT_A_TIME], told)
    return saved


def _refuse_too_many(asks: Sequence[int], told: Mapping[int, int]) -> None:
    # Whoever settles an ask elsewhere locks it too, and counts what is said here afterwards.
    locked = {ask.pk: ask for ask in Ask.objects.filter(pk__in=asks).select_for_update()}
    of = AskOutcome.objects.filter(ask__in=asks).order_by()
    for ask, how, pieces in of.values_list("ask", "how").annotate(sum=Sum("pieces")):
        if pieces < 0:
            raise _refusal(
                told[ask],
                f"Of ask “{locked[ask].key}” {-pieces} more are taken back than were said to be "
                f"“{How(how).label}”; correct them.",
            )
    for ask, pieces in of.values_list("ask").annotate(sum=Sum("pieces")):
        if pieces > locked[ask].pieces:
            raise _refusal(
                told[ask],
                f"{locked[ask].pieces} of ask “{locked[ask].key}” were asked for, and its "
                f"outcomes are of {pieces}; correct them.",
            )


def _refusal(index: int, sentence: str) -> RowError:
    return RowError(Refusal(index=index, field="pieces", sentence=sentence))


ASKS = never_changing(_with_days(_ASKS))
OUTCOMES = never_changing(replace(_OUTCOMES, save=_save_outcomes))
