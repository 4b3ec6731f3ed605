"""What jobs taught about an application, by the month vehicles were built, and where it may part.

Reads only: the parts manager decides, and `actions.applications` changes.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from inventory.catalog.models import Application, Evidence, EvidenceKind
from inventory.catalog.spans import month_after, month_before


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLearned:
    """What was seen on vehicles built in one month; no month: nobody wrote it down."""

    month: date | None
    side: Application
    answered: tuple[tuple[str, int], ...]
    did_not_fit: tuple[Evidence, ...]
    may_split: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Border:
    """Two applications that meet at a month, or one that may be parted at one."""

    earlier: Application
    later: Application | None
    months: tuple[MonthLearned, ...]

    @property
    def may_move(self) -> bool:
        return any(one.may_split for one in self.months)


def borders(application: Application) -> list[Border]:
    """Each border of this application, with what was learned on both sides; else itself."""
    before, after = _neighbours(application)
    sides = [one for one in (before, application, after) if one]
    learned: dict[int, list[Evidence]] = defaultdict(list)
    for one in Evidence.objects.for_page().filter(application__in=sides).order_by("built_month"):
        learned[one.application_id].append(one)
    pairs: list[tuple[Application, Application | None]] = []
    if before:
        pairs.append((before, application))
    if after:
        pairs.append((application, after))
    return [_border(one, other, learned) for one, other in pairs or [(application, None)]]


def _neighbours(application: Application) -> tuple[Application | None, Application | None]:
    alike = Application.objects.alike(application)
    first, last = application.built_from, application.built_to
    before = alike.filter(built_to=month_before(first)).first() if first else None
    after = alike.filter(built_from=month_after(last)).first() if last else None
    return before, after


def _border(
    earlier: Application, later: Application | None, learned: dict[int, list[Evidence]]
) -> Border:
    months = [*_months(earlier, learned[earlier.pk], later)]
    if later:
        months += _months(later, learned[later.pk], later)
    elif not any(one.did_not_fit for one in months):
        # Where everything answered there is nothing to part.
        months = [replace(one, may_split=False) for one in months]
    months.sort(key=lambda one: (one.month is None, one.month or date.min))
    return Border(earlier=earlier, later=later, months=tuple(months))


def _months(
    side: Application, evidence: Sequence[Evidence], later: Application | None
) -> Iterable[MonthLearned]:
    by_month: dict[date | None, list[Evidence]] = defaultdict(list)
    for one in evidence:
        by_month[one.built_month and one.built_month.replace(day=1)].append(one)
    for month, rows in by_month.items():
        answered = Counter(r.part.number for r in rows if r.kind == EvidenceKind.CONFIRMED)
        wrong = [r for r in rows if r.kind == EvidenceKind.CONTRADICTED]
        yield MonthLearned(
            month=month,
            side=side,
            answered=tuple(sorted(answered.items())),
            did_not_fit=tuple(wrong),
            may_split=_may_split(month, side, later),
        )


def _may_split(month: date | None, side: Application, later: Application | None) -> bool:
    """Whether the later side may begin at this month: not where it does already."""
    if month is None or (later and month == later.built_from):
        return False
    inside = (side.built_from or date.min) <= month <= (side.built_to or date.max)
    begins = side != later and month == side.built_from
    in_years = side.year_from - 1 <= month.year <= side.year_to
    return inside and in_years and not begins
