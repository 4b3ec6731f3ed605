"""Jobs grouped in one way and summed: by what was done, whose part it was, for whom, by whom.

However they are grouped, the margins of the groups sum to what all jobs left.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from inventory.catalog.models import PartKind
from jobs.costing.cents import shared_out
from jobs.costing.margin import Margin, margin_of
from jobs.costing.rates import Rate, rate
from jobs.costing.ratios import share
from jobs.review.inputs.lot_suppliers import suppliers_of_lines
from jobs.review.inputs.margins import JobEarned, LineMargin
from jobs.workshop.models import Cause, WheelAction

Label = tuple[str, str]
"""What the address holds, and what the page says."""

SEASONS = ("December to February", "March to May", "June to August", "September to November")
NO_PART: Label = ("none", "Labour and others")
Labels = Callable[[Sequence[JobEarned]], Callable[[JobEarned], Label]]
LineLabels = Callable[[Sequence[JobEarned]], Callable[[LineMargin], Label]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Portion:
    """What of a job belongs to a group: all of it, or the lines of one maker."""

    one: JobEarned
    own: Margin
    comebacks_cents: int

    @property
    def margin_cents(self) -> int:
        return 0 if self.one.charged.charged_to else self.own.margin_cents + self.comebacks_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Jobs of one kind: what they took, cost and left, comebacks charged to where they belong."""

    key: str
    name: str
    portions: tuple[Portion, ...]
    own: Margin
    comebacks_cents: int
    margin_cents: int
    came_back: Rate

    @classmethod
    def of_all(cls, jobs: Iterable[JobEarned]) -> "Group":
        return _group(("", ""), [_whole(one) for one in jobs])

    @property
    def jobs(self) -> int:
        return len(self.portions)

    @property
    def share(self) -> float | None:
        return share(self.margin_cents, self.own.price_cents)

    @property
    def a_job_cents(self) -> int | None:
        return round(self.margin_cents / self.jobs) if self.jobs else None


def _group(label: Label, portions: Sequence[Portion]) -> Group:
    bearing = [p.one.charged for p in portions if not p.one.charged.charged_to]
    return Group(
        key=label[0],
        name=label[1],
        portions=tuple(portions),
        own=margin_of(portion.own for portion in portions),
        comebacks_cents=sum(portion.comebacks_cents for portion in portions),
        margin_cents=sum(portion.margin_cents for portion in portions),
        came_back=rate(sum(1 for charged in bearing if charged.comebacks), len(bearing)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Grouping:
    """One way to group: by a label of the whole job, or by one of each line."""

    words: str
    jobs: Labels | None = None
    lines: LineLabels | None = None
    in_order: bool = False

    def split(self, jobs: Sequence[JobEarned]) -> dict[Label, list[Portion]]:
        found: defaultdict[Label, list[Portion]] = defaultdict(list)
        if self.jobs:
            label_of = self.jobs(jobs)
            for one in jobs:
                found[label_of(one)].append(_whole(one))
        elif self.lines:
            line_label = self.lines(jobs)
            for one in jobs:
                for label, portion in _by_line(one, line_label).items():
                    found[label].append(portion)
        return found


def _whole(one: JobEarned) -> Portion:
    return Portion(one=one, own=one.own, comebacks_cents=one.charged.comebacks_cents)


def _by_line(one: JobEarned, label_of: Callable[[LineMargin], Label]) -> dict[Label, Portion]:
    """Lines go to their label; credits and comebacks are shared by the pieces of parts."""
    lines: defaultdict[Label, list[LineMargin]] = defaultdict(list)
    for line in one.lines:
        lines[label_of(line)].append(line)
    labels = list(lines) or [NO_PART]
    pieces = [
        sum(line.line.quantity for line in lines[label] if line.line.part) for label in labels
    ]
    credits = shared_out(one.own.credit_cents, pieces)
    lost = one.charged.comebacks_cents
    comebacks = shared_out(abs(lost), pieces)
    return {
        label: Portion(
            one=one,
            own=margin_of(line.margin for line in lines[label]) + Margin(credit_cents=credit),
            comebacks_cents=cents if lost >= 0 else -cents,
        )
        for label, credit, cents in zip(labels, credits, comebacks, strict=True)
    }


def grouped(jobs: Sequence[JobEarned], by: str) -> list[Group]:
    """Groups by what they left, the best first; stretches of time in their order."""
    groups = [_group(label, portions) for label, portions in GROUPS[by].split(jobs).items()]
    if GROUPS[by].in_order:
        return sorted(groups, key=lambda group: group.key)
    return sorted(groups, key=lambda group: (-group.margin_cents, group.name))


def _job(label: Callable[[JobEarned], Label]) -> Labels:
    return lambda jobs: label


def _line(label: Callable[[LineMargin], Label]) -> LineLabels:
    return lambda jobs: label


def _same(words: str) -> Label:
    return words, words


def _vehicle(one: JobEarned) -> Label:
    return _same(f"{one.job.make} {one.job.model}" if one.job.make else "Not identified")


def _record(pk: int | None, name: str | None, none: str) -> Label:
    return (str(pk), name or "") if pk else ("none", none)


def _month(one: JobEarned) -> Label:
    return _same(f"{one.job.closed_on:%Y-%m}" if one.job.closed_on else "Open")


def _week(one: JobEarned) -> Label:
    """Its Monday."""
    closed = one.job.closed_on
    return _same(f"{closed - timedelta(days=closed.weekday()):%Y-%m-%d}" if closed else "Open")


def _season(one: JobEarned) -> Label:
    """Three months; those from December on carry the year in which they end."""
    closed = one.job.closed_on
    if closed is None:
        return _same("Open")
    year, number = closed.year + closed.month // 12, closed.month % 12 // 3
    return f"{year}-{number}", f"{SEASONS[number]} {year}"


def _visit(one: JobEarned) -> Label:
    """What brought the vehicle: a comeback by its cause, or not one."""
    if one.job.comeback_of is None:
        return "first", "No comeback"
    return one.job.cause, f"Comeback: {Cause(one.job.cause).label.lower()}"


def _action(line: LineMargin) -> Label:
    action = line.line.action
    return (action, WheelAction(action).label) if action else NO_PART


def _part(line: LineMargin) -> Label:
    part = line.line.part
    return (str(part), line.line.number or "") if part else NO_PART


def _kind(line: LineMargin) -> Label:
    kind = line.line.part_kind
    return (kind, PartKind(kind).label) if kind else NO_PART


def _maker(line: LineMargin) -> Label:
    return _same(line.line.maker or "Not known") if line.line.part else NO_PART


def _by_supplier(jobs: Iterable[JobEarned]) -> Callable[[LineMargin], Label]:
    known = suppliers_of_lines(jobs)
    unknown = ("unknown", "Not known")
    return lambda line: known.get(line.line.pk, unknown if line.line.part else NO_PART)


GROUPS: Mapping[str, Grouping] = {
    "work": Grouping(words="Work done", jobs=_job(lambda one: _same(one.work))),
    "model": Grouping(words="Vehicle", jobs=_job(_vehicle)),
    "action": Grouping(words="Action", lines=_line(_action)),
    "kind": Grouping(words="Kind of part", lines=_line(_kind)),
    "part": Grouping(words="Part", lines=_line(_part)),
    "maker": Grouping(words="Maker", lines=_line(_maker)),
    "supplier": Grouping(words="Supplier", lines=_by_supplier),
    "account": Grouping(
        words="Account",
        jobs=_job(lambda one: _record(one.job.account, one.job.account_name, "No account")),
    ),
    "technician": Grouping(
        words="Technician",
        jobs=_job(lambda one: _record(one.job.technician, one.job.person, "Nobody named")),
    ),
    "site": Grouping(
        words="Site", jobs=_job(lambda one: _record(one.job.site, one.job.site_name, ""))
    ),
    "week": Grouping(words="Week", jobs=_job(_week), in_order=True),
    "month": Grouping(words="Month", jobs=_job(_month), in_order=True),
    "season": Grouping(words="Season", jobs=_job(_season), in_order=True),
    "visit": Grouping(words="Comebacks", jobs=_job(_visit)),
}
