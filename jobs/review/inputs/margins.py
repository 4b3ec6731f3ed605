"""Jobs as the arithmetic of margin wants them: price, what the parts really cost, labour, credits.

A part line costs the cents of its posting and of all that returned, undid or corrected it since.
Lines that share a posting share its cents by their pieces.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from inventory.ledger.actions import cost_of_postings
from inventory.ledger.models import Movement, PostingKind
from inventory.reorder.models import Claim
from inventory.shop.models import ShopSettings, Site
from jobs.costing.cents import net_of_tax, shared_out
from jobs.costing.margin import ChargedJob, JobMargin, Margin, charged_to_cause, margin_of
from jobs.workshop.models import Job, JobKind, JobLine, JobQuerySet, LineKind, Payer, WheelAction

# Nobody pays these: the line is work or a part given away.
UNPAID = frozenset({Payer.US, Payer.GOODWILL})
SENSOR_WORK = (WheelAction.ASSEMBLY, WheelAction.BODY)
SET_OF = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMargin:
    """One line of a job, with what it earned."""

    line: JobLine
    margin: Margin


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEarned:
    """A job with its lines' margins, by itself and after comebacks were charged to their cause."""

    job: Job
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
    chosen = list(jobs.for_list())
    everyone = {job.pk: job for job in [*chosen, *_comebacks_of(chosen)]}
    lines = _lines_of(everyone)
    credits = credits_by_job(everyone.values())
    costs = line_costs([line for group in lines.values() for line in group])
    margins = {
        pk: _line_margins(lines[pk], costs, shop.tax_per_mille if shop.prices_include_tax else 0)
        for pk in everyone
    }
    own = {
        job.key: margin_of(
            [line.margin for line in margins[job.pk]]
            + [Margin(credit_cents=credits.get(job.key, 0))]
        )
        for job in everyone.values()
    }
    charged = charged_to_cause(
        JobMargin(
            key=job.key,
            own=own[job.key],
            comeback_of=job.comeback_of.key if job.comeback_of else None,
            cause=job.cause,
        )
        for job in everyone.values()
    )
    return [
        JobEarned(
            job=job,
            lines=tuple(margins[job.pk]),
            own=own[job.key],
            charged=charged[job.key],
            work=work_done(job, lines[job.pk]),
        )
        for job in chosen
    ]


def _comebacks_of(jobs: Sequence[Job]) -> list[Job]:
    """Comebacks of these jobs and, where one of these is a comeback, the job it came from."""
    found: dict[int, Job] = {}
    edge = {job.pk for job in jobs}
    while edge:
        later = Job.objects.filter(comeback_of__in=edge).exclude(closed_at=None)
        fresh = {job.pk: job for job in later.select_related("comeback_of", "site", "vehicle")}
        edge = set(fresh) - set(found)
        found |= fresh
    causes = {job.comeback_of_id for job in jobs if job.comeback_of_id} - set(found)
    found |= Job.objects.select_related("comeback_of").in_bulk([pk for pk in causes if pk])
    return list(found.values())


def _lines_of(jobs: Iterable[int]) -> dict[int, list[JobLine]]:
    grouped: defaultdict[int, list[JobLine]] = defaultdict(list)
    rows = JobLine.objects.filter(job__in=list(jobs)).select_related("part", "wheel")
    for line in rows.order_by("job", "key"):
        grouped[line.job_id].append(line)
    return grouped


def _line_margins(lines: Iterable[JobLine], costs: dict[int, int], tax: int) -> list[LineMargin]:
    return [
        LineMargin(
            line=line,
            margin=Margin(
                price_cents=0 if line.payer in UNPAID else net_of_tax(line.price_cents, tax),
                parts_cents=costs.get(line.pk, 0),
                labour_cents=line.labour_cost_cents,
            ),
        )
        for line in lines
    ]


def line_costs(lines: Sequence[JobLine]) -> dict[int, int]:
    """Cents each part line really cost, by line."""
    by_posting: defaultdict[int, list[JobLine]] = defaultdict(list)
    for line in lines:
        if line.kind == LineKind.PART and line.posting_id:
            by_posting[line.posting_id].append(line)
    costs = cost_of_postings(list(by_posting))
    found = {}
    for posting, sharing in by_posting.items():
        cost = costs.get(posting, 0)
        weights = [line.quantity for line in sharing]
        shares = shared_out(abs(cost), weights)
        for line, cents in zip(sharing, shares, strict=True):
            found[line.pk] = cents if cost >= 0 else -cents
    return found


def credits_by_job(jobs: Iterable[Job]) -> dict[str, int]:
    """What suppliers gave back for parts that failed on these jobs."""
    keys = [job.key for job in jobs]
    rows = Claim.objects.filter(job_key__in=keys, credit_cents__gt=0).order_by()
    return dict(rows.values_list("job_key").annotate(total=Sum("credit_cents")))


def work_done(job: Job, lines: Iterable[JobLine]) -> str:
    """One name for what a job did, the dearest thing first; used to compare like with like."""
    done: defaultdict[str, int] = defaultdict(int)
    for line in lines:
        if line.action:
            done[line.action] += 1 if line.kind == LineKind.PART else 0
    name = _sensor_work(done) or _small_work(done, job)
    return f"{name}, with a tire change" if job.kind == JobKind.TIRE_CHANGE and done else name


def _sensor_work(done: dict[str, int]) -> str:
    sensors = sum(done.get(action, 0) for action in SENSOR_WORK)
    if sensors >= SET_OF:
        return "Set of sensors"
    if done.get(WheelAction.ASSEMBLY):
        return "Whole assembly"
    return "Body only" if done.get(WheelAction.BODY) else ""


def _small_work(done: dict[str, int], job: Job) -> str:
    if done.get(WheelAction.STEM):
        return "Stem only"
    if done.get(WheelAction.RESEAL):
        return "Kit only"
    if done.get(WheelAction.PLAIN_VALVE):
        return "Plain valve"
    if done.get(WheelAction.CORE):
        return "Valve core"
    if WheelAction.RELEARN in done or job.kind == JobKind.RELEARN:
        return "Re-learn only"
    return "Nothing fitted"


def written_off(*, first: date, last: date, site: Site | None = None) -> int:
    """Cents scrapped, and lost or found in counts, on the days from first to last."""
    kinds = [PostingKind.SCRAPPED, PostingKind.COUNTED]
    rows = Movement.objects.filter(
        posting__kind__in=kinds,
        posting__happened_at__date__gte=first,
        posting__happened_at__date__lte=last,
    ).exclude(posting__undone_by__isnull=False)
    if site is not None:
        rows = rows.filter(site=site)
    return -(rows.aggregate(total=Sum("cents"))["total"] or 0)
