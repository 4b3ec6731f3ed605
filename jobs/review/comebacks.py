"""How often jobs come back, why, who pays; and body only against assembly among stems alike."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from jobs.costing.margin import CHARGED_CAUSES
from jobs.costing.rates import Rate, Ratio, Stratum, adjusted_ratio, rate
from jobs.review.inputs.margins import JobEarned
from jobs.review.inputs.stem_ages import stem_years
from jobs.workshop.models import Cause, JobLine, Payer, WheelAction

# A stem is young up to this many years; the last class is open.
AGES = (3, 6, 9)
COMPARED = (WheelAction.BODY, WheelAction.ASSEMBLY)


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseSum:
    """Comebacks of one cause and payer, and the cents they left, mostly below 0."""

    cause: str
    payer: str
    count: int
    cents: int

    @property
    def cause_words(self) -> str:
        return Cause(self.cause).label

    @property
    def payer_words(self) -> str:
        return Payer(self.payer).label

    @property
    def charged_words(self) -> str:
        return "yes" if self.cause in CHARGED_CAUSES else "no"


def by_cause(jobs: Iterable[JobEarned]) -> list[CauseSum]:
    """What came back on these days, the dearest first."""
    count: Counter[tuple[str, str]] = Counter()
    cents: Counter[tuple[str, str]] = Counter()
    for one in jobs:
        if one.job.comeback_of:
            count[one.job.cause, one.job.payer] += 1
            cents[one.job.cause, one.job.payer] += one.own.margin_cents
    sums = [CauseSum(cause=c, payer=p, count=n, cents=cents[c, p]) for (c, p), n in count.items()]
    return sorted(sums, key=lambda row: (row.cents, row.cause, row.payer))


@dataclass(frozen=True, slots=True, kw_only=True)
class StemAge:
    """Wheels whose stems were of one age when body or assembly was replaced."""

    words: str
    stratum: Stratum

    @property
    def body(self) -> Rate:
        return rate(self.stratum.happened_a, self.stratum.cases_a)

    @property
    def assembly(self) -> Rate:
        return rate(self.stratum.happened_b, self.stratum.cases_b)


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyOrAssembly:
    """ratio : body only over whole assembly among stems alike; None where nothing can be said"""

    by_age: Sequence[StemAge]
    ratio: Ratio | None


def body_or_assembly(jobs: Sequence[JobEarned]) -> BodyOrAssembly:
    """Each wheel on which a body or an assembly was fitted, and whether it came back."""
    came_back = _wheels_come_back(jobs)
    cases = {
        (line.line.wheel, one.job.closed_on): (line.line.action, (one.job.key, line.line.wheel))
        for one in jobs
        if not one.charged.charged_to
        for line in one.lines
        if line.line.part and line.line.wheel and line.line.action in COMPARED
    }
    known = {(wheel, day): said for (wheel, day), said in cases.items() if wheel and day}
    counts: Counter[tuple[int, str, bool]] = Counter()
    for case, years in stem_years(known).items():
        action, wheel = known[case]
        counts[_class_of(years), action, wheel in came_back] += 1
    by_age = [
        StemAge(words=words, stratum=_stratum(counts, number))
        for number, words in enumerate(_class_words())
    ]
    return BodyOrAssembly(by_age=by_age, ratio=adjusted_ratio([one.stratum for one in by_age]))


def _wheels_come_back(jobs: Sequence[JobEarned]) -> set[tuple[str, int]]:
    """Wheels of jobs that a charged comeback worked on again, by the job it came back from."""
    source = {key: one.job.key for one in jobs for key in one.charged.comebacks}
    again = JobLine.objects.filter(job__key__in=source).exclude(wheel=None)
    found: defaultdict[str, set[int]] = defaultdict(set)
    for key, wheel in again.order_by().values_list("job__key", "wheel"):
        if wheel is not None:
            found[source[key]].add(wheel)
    return {(key, wheel) for key, wheels in found.items() for wheel in wheels}


def _class_of(years: float) -> int:
    return sum(1 for limit in AGES if years >= limit)


def _class_words() -> list[str]:
    between = [f"{low} to {high} years old" for low, high in pairwise(AGES)]
    return [f"under {AGES[0]} years old", *between, f"{AGES[-1]} years or older"]


def _stratum(counts: Counter[tuple[int, str, bool]], number: int) -> Stratum:
    body, assembly = WheelAction.BODY.value, WheelAction.ASSEMBLY.value
    return Stratum(
        happened_a=counts[number, body, True],
        cases_a=counts[number, body, True] + counts[number, body, False],
        happened_b=counts[number, assembly, True],
        cases_b=counts[number, assembly, True] + counts[number, assembly, False],
    )
