"""What jobs taught about an application, by the month vehicles were built, and where it may part.

Reads only: the parts manager decides, and `actions.applications` changes.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.catalog.models import Application, Evidence, EvidenceKind, Fitment
from inventory.catalog.spans import month_after, month_before


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLearned:
    """What was seen on vehicles built in one month; no month: nobody wrote it down.

    `explains` counts the findings that a border at this month would explain, `against` those that
    would then stand on the wrong side.
    """

    month: date | None
    side: Application
    answered: tuple[tuple[str, int], ...]
    did_not_fit: tuple[Evidence, ...]
    explains: int
    against: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Border:
    """Two applications that meet at a month, or one that may be parted at one."""

    earlier: Application
    later: Application | None
    months: tuple[MonthLearned, ...]

    @property
    def best_months(self) -> list[date]:
        """Months that explain something, where no other explains as much with less against it."""
        found = [one for one in self.months if one.month and one.explains]
        return [
            one.month
            for one in found
            if one.month and not any(_is_better(other, one) for other in found)
        ]


def _is_better(one: MonthLearned, than: MonthLearned) -> bool:
    figures = [(m.explains, -m.against) for m in (one, than)]
    return figures[0] != figures[1] and all(a >= b for a, b in zip(*figures, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    application: Application
    evidence: Sequence[Evidence]
    parts: frozenset[int]

    def by_month(self) -> dict[date | None, list[Evidence]]:
        months: dict[date | None, list[Evidence]] = defaultdict(list)
        for one in self.evidence:
            months[one.built_month and one.built_month.replace(day=1)].append(one)
        return months


def borders(application: Application) -> list[Border]:
    """Each border of this application, with what was learned on both sides; else itself."""
    before, after = _neighbours(application)
    sides = {
        one.application.pk: one
        for one in _sides([one for one in (before, application, after) if one])
    }
    own = sides[application.pk]
    pairs = []
    if before:
        pairs.append((sides[before.pk], own))
    if after:
        pairs.append((own, sides[after.pk]))
    return [_between(one, other) for one, other in pairs] or [_alone(own)]


def _neighbours(application: Application) -> tuple[Application | None, Application | None]:
    alike = Application.objects.alike(application)
    first, last = application.built_from, application.built_to
    before = alike.filter(built_to=month_before(first)).first() if first else None
    after = alike.filter(built_from=month_after(last)).first() if last else None
    return before, after


def _sides(applications: Sequence[Application]) -> Iterable[_Side]:
    learned: dict[int, list[Evidence]] = defaultdict(list)
    parts: dict[int, set[int]] = defaultdict(set)
    for one in Evidence.objects.for_page().filter(application__in=applications):
        learned[one.application_id].append(one)
    listed = Fitment.objects.filter(application__in=applications).order_by()
    for application_id, part_id in listed.values_list("application_id", "part_id"):
        parts[application_id].add(part_id)
    for application in applications:
        own, pk = frozenset(parts[application.pk]), application.pk
        yield _Side(application=application, evidence=learned[pk], parts=own)


def _between(earlier: _Side, later: _Side) -> Border:
    begins = later.application.built_from
    rows = []
    for month, evidence in earlier.by_month().items():
        over = [] if month is None else _from(earlier.evidence, month)
        if month == earlier.application.built_from:
            over = []
        rows.append(_row(month, earlier, evidence, _explained(over, earlier, later)))
    # A part of the later side that did not fit in its first months: it may begin after them.
    months = later.by_month()
    for month in [m for m, found in months.items() if m and _contradicted(found)]:
        months.setdefault(month_after(month), [])
    for month, evidence in months.items():
        back = [] if month in (None, begins) else _before(later.evidence, month)
        rows.append(_row(month, later, evidence, _explained(back, later, earlier)))
    return Border(
        earlier=earlier.application, later=later.application, months=tuple(_in_order(rows))
    )


def _alone(side: _Side) -> Border:
    rows = [
        _row(month, side, evidence, _parted(side.evidence, month) if month else (0, 0))
        for month, evidence in side.by_month().items()
    ]
    return Border(earlier=side.application, later=None, months=tuple(_in_order(rows)))


def _parted(evidence: Sequence[Evidence], month: date) -> tuple[int, int]:
    """Parts that did not fit on one side of the month and answered on the other, and against."""
    before, after = _before(evidence, month), _from(evidence, month)
    explains = against = 0
    for mine, other in ((before, after), (after, before)):
        wrong = [one for one in _contradicted(mine) if one.part_id in _answered(other)]
        explains += len(wrong)
        answered_here = [e.part_id for e in mine if e.kind == EvidenceKind.CONFIRMED]
        against += sum(part in {one.part_id for one in wrong} for part in answered_here)
    return explains, against


def _answered(evidence: Iterable[Evidence]) -> set[int]:
    return {one.part_id for one in evidence if one.kind == EvidenceKind.CONFIRMED}


def _explained(moved: Iterable[Evidence], losing: _Side, gaining: _Side) -> tuple[int, int]:
    """Of findings that change sides, how many that explains and how many it speaks against."""
    explains = against = 0
    for one in moved:
        here, there = one.part_id in losing.parts, one.part_id in gaining.parts
        if one.kind == EvidenceKind.CONTRADICTED:
            explains += not there and not one.settled
        else:
            explains += there and not here
            against += here and not there
    return explains, against


def _contradicted(evidence: Iterable[Evidence]) -> list[Evidence]:
    return [e for e in evidence if e.kind == EvidenceKind.CONTRADICTED and not e.settled]


def _from(evidence: Iterable[Evidence], month: date) -> list[Evidence]:
    return [one for one in evidence if one.built_month and one.built_month >= month]


def _before(evidence: Iterable[Evidence], month: date | None) -> list[Evidence]:
    return [one for one in evidence if one.built_month and month and one.built_month < month]


def _row(
    month: date | None, side: _Side, evidence: Iterable[Evidence], reckoned: tuple[int, int]
) -> MonthLearned:
    rows = list(evidence)
    answered = Counter(one.part.number for one in rows if one.kind == EvidenceKind.CONFIRMED)
    return MonthLearned(
        month=month,
        side=side.application,
        answered=tuple(sorted(answered.items())),
        did_not_fit=tuple(one for one in rows if one.kind == EvidenceKind.CONTRADICTED),
        explains=reckoned[0],
        against=reckoned[1],
    )


def _in_order(rows: Iterable[MonthLearned]) -> list[MonthLearned]:
    return sorted(rows, key=lambda one: (one.month is None, one.month or date.min))
