"""Jobs as the arithmetic of margin wants them: price, what the parts really cost, labour, credits.

A part line costs the cents of its posting and of all that returned, undid or corrected it since.
Lines that share a posting share its cents by their pieces. Rows are read as plain values, not as
records: a month of a chain has ten thousand jobs.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.db.models import QuerySet, Sum

from inventory.ledger.actions import cost_of_postings
from inventory.reorder.models import Claim
from inventory.shop.models import ShopSettings
from jobs.costing.cents import net_of_tax, shared_out
from jobs.costing.margin import ChargedJob, JobMargin, Margin, charged_to_cause
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


_PK, _KIND, _ACTION, _POSTING, _LABOUR = map(
    LINE_FACTS.index, ("pk", "kind", "action", "posting", "labour_cost_cents")
)

Priced = tuple[tuple[Any, ...], int, int]
"""A line as it was read, by `LINE_FACTS`; its price without tax, and what its parts cost. Bare
tuples, because the collector of garbage looks through thousands of anything else at every page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMargin:
    """One line of a job, with what it earned."""

    line: LineFacts
    margin: Margin


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEarned:
    """A job with its lines, by itself and after comebacks were charged to their cause."""

    job: JobFacts
    priced: tuple[Priced, ...]
    own: Margin
    charged: ChargedJob
    work: str

    @property
    def lines(self) -> tuple[LineMargin, ...]:
        return tuple(_line_margin(*priced) for priced in self.priced)


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
    priced = priced_lines(everyone, shop.tax_in_prices_per_mille)
    credits = credits_by_job(everyone)
    own = {key: _own(priced.get(pk, ()), credits.get(key, 0)) for pk, key in family.keys.items()}
    charged = charged_to_cause(family.as_margins(own))
    return [
        JobEarned(
            job=job,
            priced=tuple(priced.get(job.pk, ())),
            own=own[job.key],
            charged=charged[job.key],
            work=work_done(job.kind, priced.get(job.pk, ())),
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


def priced_lines(jobs: JobQuerySet, tax: int) -> dict[int, list[Priced]]:
    """Every line with its price and cost, by job; prices without the tax they were entered with."""
    lines = JobLine.objects.filter(job__in=jobs.order_by().values("pk"))
    rows = list(lines.order_by("job", "key").values_list(*LINE_FACTS))
    costs = line_costs(rows, lines)
    found: defaultdict[int, list[Priced]] = defaultdict(list)
    for row in rows:
        line = LineFacts._make(row)
        price = 0 if line.payer in UNPAID else net_of_tax(line.price_cents, tax)
        found[line.job].append((row, price, costs.get(line.pk, 0)))
    return found


def line_costs(rows: Iterable[tuple[Any, ...]], lines: QuerySet[JobLine]) -> dict[int, int]:
    """Cents each part line really cost, by line; lines that share a posting share by pieces."""
    posted = lines.filter(kind=LineKind.PART).exclude(posting=None)
    costs = cost_of_postings(posted.order_by().values("posting"))
    parts = [row for row in rows if row[_KIND] == LineKind.PART]
    times = Counter(row[_POSTING] for row in parts)
    found = {row[_PK]: costs.get(row[_POSTING], 0) for row in parts}
    shared: defaultdict[int, list[LineFacts]] = defaultdict(list)
    for row in parts:
        if row[_POSTING] and times[row[_POSTING]] > 1:
            shared[row[_POSTING]].append(LineFacts._make(row))
    for posting, sharing in shared.items():
        cost = costs.get(posting, 0)
        shares = shared_out(abs(cost), [line.quantity for line in sharing])
        for line, cents in zip(sharing, shares, strict=True):
            found[line.pk] = cents if cost >= 0 else -cents
    return found


def _line_margin(row: tuple[Any, ...], price: int, cost: int) -> LineMargin:
    line = LineFacts._make(row)
    labour = line.labour_cost_cents
    margin = Margin(price_cents=price, parts_cents=cost, labour_cents=labour)
    return LineMargin(line=line, margin=margin)


def _own(priced: Iterable[Priced], credit: int) -> Margin:
    """The margin of a job from its lines, summed without making each one's."""
    price = parts = labour = 0
    for row, line_price, line_cost in priced:
        price += line_price
        parts += line_cost
        labour += row[_LABOUR]
    return Margin(price_cents=price, parts_cents=parts, labour_cents=labour, credit_cents=credit)


def credits_by_job(jobs: JobQuerySet) -> dict[str, int]:
    """What suppliers gave back for parts that failed on these jobs."""
    keys = jobs.order_by().values("key")
    rows = Claim.objects.filter(job_key__in=keys, credit_cents__gt=0).order_by()
    return dict(rows.values_list("job_key").annotate(total=Sum("credit_cents")))


def work_done(kind: str, priced: Iterable[Priced]) -> str:
    """One name for what a job did, the dearest thing first; used to compare like with like."""
    done: dict[str, int] = {}
    for row, _, _ in priced:
        if action := row[_ACTION]:
            done[action] = done.get(action, 0) + (row[_KIND] == LineKind.PART)
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
    if WheelAction.CORE in done:
        return "Valve core"
    if WheelAction.RELEARN in done or kind == JobKind.RELEARN:
        return "Re-learn only"
    return "Nothing fitted"
