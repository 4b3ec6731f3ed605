"""Spans of years and months in words: "2013–2016, built to February 2016"."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from inventory.catalog.models import Application
from inventory.shop.amounts import month_text


def span_text(application: Application) -> str:
    return ", ".join(filter(None, [application.years, built_text(application)]))


def built_text(application: Application) -> str:
    first, last = application.built_from, application.built_to
    if first and last:
        return f"built {month_text(first)} to {month_text(last)}"
    if first:
        return f"built from {month_text(first)}"
    return f"built to {month_text(last)}" if last else ""


def month_after(month: date) -> date:
    return date(month.year + month.month // 12, month.month % 12 + 1, 1)


def month_before(month: date) -> date:
    return date(month.year - (month.month == 1), (month.month - 2) % 12 + 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What a part fits of one model, as a person would say it."""

    make: str
    model: str
    spans: tuple[tuple[str, Application], ...]


def reaches(applications: Iterable[Application]) -> list[Reach]:
    """Applications gathered by model; touching spans of the same trim and wheel said as one."""
    by_model = sorted(applications, key=lambda a: (a.make, a.model, a.trim, a.wheel, a.year_from))
    return [
        Reach(make=make, model=model, spans=tuple(_spans(list(group))))
        for (make, model), group in groupby(by_model, key=lambda a: (a.make, a.model))
    ]


def _spans(applications: Sequence[Application]) -> Iterable[tuple[str, Application]]:
    for (trim, wheel), group in groupby(applications, key=lambda a: (a.trim, a.wheel)):
        extra = ", ".join(filter(None, [trim, wheel]))
        for run in _runs(list(group)):
            yield f"{_run_text(run)}{f' ({extra})' if extra else ''}", run[0]


def _runs(applications: Sequence[Application]) -> Iterable[list[Application]]:
    """Neighbours whose years touch; one that a month of building limits stands alone."""
    run: list[Application] = []
    for application in applications:
        if run and _touches(run[-1], application):
            run.append(application)
            continue
        if run:
            yield run
        run = [application]
    if run:
        yield run


def _touches(earlier: Application, later: Application) -> bool:
    limited = earlier.built_from or earlier.built_to or later.built_from or later.built_to
    return not limited and later.year_from <= earlier.year_to + 1


def _run_text(run: Sequence[Application]) -> str:
    if len(run) == 1:
        return span_text(run[0])
    return f"{run[0].year_from}–{max(a.year_to for a in run)}"
