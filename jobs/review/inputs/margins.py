"""Jobs as the arithmetic of margin wants them: price, what the parts really cost, labour, credits.

A part line costs the cents of its posting and of all that returned, undid or corrected it since.
Lines that share a posting share its cents by their pieces. Rows are read as plain values, not as
records: a month of a chain has ten thousand jobs.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Sum

from inventory.ledger.actions import cost_of_postings
from inventory.reorder.models import Claim
from inventory.shop.models import ShopSettings
from jobs.costing.cents import net_of_tax, shared_out
from jobs.costing.margin import ChargedJob, JobMargin, Margin, charged_to_cause, margin_of
from jobs.workshop.models import Job, JobKind, JobLine, JobQuerySet, LineKind, Payer, WheelAction

# Nobody pays these: the line is work or a part given away.
UNPAID = frozenset({Payer.US, Payer.GOODWILL})
SENSOR_WORK = (WheelAction.ASSEMBLY, WheelAction.BODY)
SET_OF = 4


class JobFacts(NamedTuple):
    """What the money pages say of a job. Each field is a lookup of `FACTS`, in this order."""

    pk: int
    key: str
    kind: str
    closed_on: date | None
    cause: str
    payer: str
    comeback_of: str | None
    site: int
    site_name: str
    account: int | None
    account_name: str | None
    discount_per_mille: int | None
    technician: int | None
    first_name: str | None
    last_name: str | None
    username: str | None
    plate: str
    unit_number: str
    vehicle_key: str
    make: str | None
    model: str | None

    @property
    def vehicle(self) -> str:
        return self.plate or self.unit_number or self.vehicle_key

    @property
    def person(self) -> str:
        named = f"{self.first_name or ''} {self.last_name or ''}".strip()
        return named or self.username or ""


FACTS = (
    *("pk", "key", "kind", "closed_on", "cause", "payer", "comeback_of__key"),
    *("site", "site__name", "account", "account__name", "account__discount_per_mille"),
    *("technician", "technician__first_name", "technician__last_name", "technician__username"),
    *("vehicle__plate", "vehicle__unit_number", "vehicle__key"),
    *("vehicle__application__make", "vehicle__application__model"),
)


class LineFacts(NamedTuple):
    """A line of a job. Each field is a lookup of `LINE_FACTS`, in this order."""

    pk: int
    job: int
    kind: str
    action: str
    wheel: int | None
    part: int | None
    number: str | None
    maker: str | None
    part_kind: str | None
    words: str
    posting: int | None
    quantity: int
    price_cents: int
    labour_cost_cents: int
    payer: str

    @property
    def payer_words(self) -> str:
        return Payer(self.payer).label


LINE_FACTS = (
    *("pk", "job", "kind", "action", "wheel"),
    *("part", "part__number", "part__maker", "part__kind"),
    *("words", "posting", "quantity", "price_cents", "labour_cost_cents", "payer"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMargin:
    """One line of a job, with what it earned."""

    line: LineFacts
    margin: Margin


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEarned:
    """A job with its lines' margins, by itself and after comebacks were charged to their cause."""

    job: JobFacts
    lines: tuple[LineMargin, ...]
    own: Margin
    charged: ChargedJob
    work: str


def earned(jobs: JobQuerySet, *, shop: ShopSettings | None = None) -> list[JobEarned]:
    """Margins of these jobs, in a constant number of queries.

    Comebacks of these jobs are read too, whenever they closed: what a job really earned is known
    only with them.
    """
    shop = shop or ShopSettings.load()
    rows = jobs.order_by("closed_on", "pk").values_list(*FACTS)
    chosen = [JobFacts._make(row) for row in rows]
    family = _Family.of(chosen)
    everyone = jobs | Job.objects.filter(pk__in=family.later) if family.later else jobs
    lines = _lines_of(everyone)
    credits = credits_by_job(everyone)
    tax = shop.tax_per_mille if shop.prices_include_tax else 0
    margins = line_margins(lines, everyone, tax)
    own = {
        key: margin_of(
            [line.margin for line in margins.get(pk, ())]
            + ([Margin(credit_cents=credits[key])] if key in credits else [])
        )
        for pk, key in family.keys.items()
    }
    charged = charged_to_cause(family.as_margins(own))
    return [
        JobEarned(
            job=job,
            lines=tuple(margins.get(job.pk, ())),
            own=own[job.key],
            charged=charged[job.key],
            work=work_done(job.kind, lines.get(job.pk, ())),
        )
        for job in chosen
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Family:
    """Jobs with what came back of them, and what they came back of.

    keys : of the chosen jobs and of their later comebacks, by primary key
    later : primary keys of those comebacks that are not among the chosen
    causes : the key a job came back of, and why, by its own key
    """

    keys: Mapping[int, str]
    later: Sequence[int]
    causes: Mapping[str, tuple[str, str]]

    @classmethod
    def of(cls, chosen: Sequence[JobFacts]) -> "_Family":
        comebacks = Job.objects.exclude(comeback_of=None).exclude(closed_at=None)
        rows = comebacks.order_by("pk").values_list("pk", "key", "comeback_of__key", "cause")
        causes = {key: (of, cause) for _, key, of, cause in rows}
        causes |= {job.key: (job.comeback_of, job.cause) for job in chosen if job.comeback_of}
        keys = {job.pk: job.key for job in chosen}
        back: defaultdict[str, list[tuple[int, str]]] = defaultdict(list)
        for pk, key, of, _ in rows:
            back[of].append((pk, key))
        edge = list(keys.values())
        while edge:
            fresh = {pk: key for of in edge for pk, key in back.get(of, ()) if pk not in keys}
            keys |= fresh
            edge = list(fresh.values())
        return cls(keys=keys, later=list(keys)[len(chosen) :], causes=causes)

    def as_margins(self, own: Mapping[str, Margin]) -> Iterator[JobMargin]:
        """With what they came back of, up to the first visit; that earned what is not asked."""
        asked = set(own)
        edge = asked
        while edge:
            above = {self.causes[key][0] for key in edge if key in self.causes} - asked
            asked |= above
            edge = above
        for key in sorted(asked):
            of, cause = self.causes.get(key, (None, ""))
            yield JobMargin(key=key, own=own.get(key, Margin()), comeback_of=of, cause=cause)


def _lines_of(jobs: JobQuerySet) -> dict[int, list[LineFacts]]:
    grouped: defaultdict[int, list[LineFacts]] = defaultdict(list)
    rows = JobLine.objects.filter(job__in=jobs.order_by().values("pk"))
    for row in rows.order_by("job", "key").values_list(*LINE_FACTS):
        line = LineFacts._make(row)
        grouped[line.job].append(line)
    return grouped


def line_margins(
    lines: Mapping[int, Iterable[LineFacts]], jobs: JobQuerySet, tax: int
) -> dict[int, list[LineMargin]]:
    """What each line earned, by job; prices without the tax they were entered with."""
    costs = line_costs([line for group in lines.values() for line in group], jobs)
    return {
        job: [
            LineMargin(
                line=line,
                margin=Margin(
                    price_cents=0 if line.payer in UNPAID else net_of_tax(line.price_cents, tax),
                    parts_cents=costs.get(line.pk, 0),
                    labour_cents=line.labour_cost_cents,
                ),
            )
            for line in group
        ]
        for job, group in lines.items()
    }


def line_costs(lines: Sequence[LineFacts], jobs: JobQuerySet) -> dict[int, int]:
    """Cents each part line of these jobs really cost, by line."""
    by_posting: defaultdict[int, list[LineFacts]] = defaultdict(list)
    for line in lines:
        if line.kind == LineKind.PART and line.posting:
            by_posting[line.posting].append(line)
    posted = JobLine.objects.filter(job__in=jobs.order_by().values("pk"), kind=LineKind.PART)
    costs = cost_of_postings(posted.exclude(posting=None).order_by().values("posting"))
    found = {}
    for posting, sharing in by_posting.items():
        cost = costs.get(posting, 0)
        for line, cents in zip(sharing, _shares(cost, sharing), strict=True):
            found[line.pk] = cents
    return found


def _shares(cost: int, sharing: Sequence[LineFacts]) -> list[int]:
    if len(sharing) == 1:
        return [cost]
    shares = shared_out(abs(cost), [line.quantity for line in sharing])
    return shares if cost >= 0 else [-cents for cents in shares]


def credits_by_job(jobs: JobQuerySet) -> dict[str, int]:
    """What suppliers gave back for parts that failed on these jobs."""
    keys = jobs.order_by().values("key")
    rows = Claim.objects.filter(job_key__in=keys, credit_cents__gt=0).order_by()
    return dict(rows.values_list("job_key").annotate(total=Sum("credit_cents")))


def work_done(kind: str, lines: Iterable[LineFacts]) -> str:
    """One name for what a job did, the dearest thing first; used to compare like with like."""
    done: defaultdict[str, int] = defaultdict(int)
    for line in lines:
        if line.action:
            done[line.action] += 1 if line.kind == LineKind.PART else 0
    name = _sensor_work(done) or _small_work(done, kind)
    return f"{name}, with a tire change" if kind == JobKind.TIRE_CHANGE and done else name


def _sensor_work(done: Mapping[str, int]) -> str:
    sensors = sum(done.get(action, 0) for action in SENSOR_WORK)
    if sensors >= SET_OF:
        return "Set of sensors"
    if done.get(WheelAction.ASSEMBLY):
        return "Whole assembly"
    return "Body only" if done.get(WheelAction.BODY) else ""


def _small_work(done: Mapping[str, int], kind: str) -> str:
    if done.get(WheelAction.STEM):
        return "Stem only"
    if done.get(WheelAction.RESEAL):
        return "Kit only"
    if done.get(WheelAction.PLAIN_VALVE):
        return "Plain valve"
    if done.get(WheelAction.CORE):
        return "Valve core"
    if WheelAction.RELEARN in done or kind == JobKind.RELEARN:
        return "Re-learn only"
    return "Nothing fitted"
