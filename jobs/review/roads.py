"""What the advice on dead bodies cost customers, against always one action: whole, or body only.

A wheel whose body had to go got the body alone or the whole assembly. Told over once the time the
advice spoke of is over: what such a day costs, and what a stem that then fails adds. What an old
stem would have done that came off with the body nobody saw; its chance by our laws stands for it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from django.db.models import Sum

from inventory.shop.models import ShopSettings
from jobs.replacement.weibull import chance_of_failure
from jobs.review.inputs.laws import shop_laws
from jobs.review.models import AdviceSettings
from jobs.workshop.ages import DAYS_A_YEAR
from jobs.workshop.lives import lives_by_family
from jobs.workshop.models import (
    AdviceGiven,
    EndReason,
    Fitted,
    JobLine,
    LineKind,
    PieceKind,
    Strength,
    WheelAction,
)
from jobs.workshop.prices import for_minutes

ENOUGH_OF_EACH = 10
Wheel = tuple[int, int]
"""Of a job: its key and the wheel's."""


class Gone(NamedTuple):
    """One wheel whose body had to go: what was done, and whether the stem failed in the time told.

    chance : of an old stem that came off, to have failed in that time; 0 where it stayed
    """

    action: str
    stem_failed: bool
    chance: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Roads:
    """Cents a wheel, on the mean: as was done, always the assembly, always the body only."""

    bodies: int
    assemblies: int
    done_cents: int
    always_assembly_cents: int
    always_body_cents: int


def roads(
    wheels: Sequence[Gone], *, body_cents: float, assembly_cents: float, visit_cents: float
) -> Roads | None:
    """Hold what was done against the two rules of thumb; None below ten wheels of either kind.

    done = share of each × (its price + share of its stems that failed × a visit)
    always assembly = price + share of new stems that failed × a visit
    always body = price + mean of (old stems that failed, chance of those that came off) × a visit
    """
    kept = [one for one in wheels if one.action == WheelAction.BODY]
    whole = [one for one in wheels if one.action == WheelAction.ASSEMBLY]
    if min(len(kept), len(whole)) < ENOUGH_OF_EACH:
        return None
    count = len(kept) + len(whole)
    by_body = len(kept) * body_cents + sum(one.stem_failed for one in kept) * visit_cents
    by_whole = len(whole) * assembly_cents + sum(one.stem_failed for one in whole) * visit_cents
    instead = len(whole) * body_cents + sum(one.chance for one in whole) * visit_cents
    return Roads(
        bodies=len(kept),
        assemblies=len(whole),
        done_cents=round((by_body + by_whole) / count),
        always_assembly_cents=round(by_whole / len(whole)),
        always_body_cents=round((by_body + instead) / count),
    )


def roads_taken(*, today: date) -> Roads | None:
    """Every must of the past whose time is over, with prices as they were really charged."""
    told = {
        (row.job_id, row.wheel_id): row
        for row in AdviceGiven.objects.filter(strength=Strength.MUST, horizon_days__isnull=False)
        .select_related("job__site")
        .order_by("at", "pk")
    }
    spans = {}
    for key, row in told.items():
        day = row.job.site.day_of(row.at)
        until = day + timedelta(days=row.horizon_days or 0)
        if until <= today and (row.taken or row.action) in _ACTIONS:
            spans[key] = (row.taken or row.action, day, until)
    if len(spans) < 2 * ENOUGH_OF_EACH:
        return None
    return roads(list(_gone(spans)), **_prices(spans))


_ACTIONS = (WheelAction.BODY, WheelAction.ASSEMBLY)
_Spans = dict[Wheel, tuple[str, date, date]]


def _gone(spans: _Spans) -> Iterable[Gone]:
    stems = _stems_off({wheel for _, wheel in spans})
    lives = lives_by_family()
    laws, known = shop_laws(lives), {one.piece: one for own in lives.values() for one in own}
    for (job, wheel), (action, day, until) in spans.items():
        own = stems.get(wheel, [])
        chance = 0.0
        old = known.get(next((stem.pk for stem in own if stem.by == job), 0))
        if action == WheelAction.ASSEMBLY and old is not None:
            law = laws.draws(laws.family_of(*old.family))
            years = (until - day).days / DAYS_A_YEAR
            fails = chance_of_failure(old.exit, years, scale=law.scale, shape=law.shape)
            chance = float(fails.mean())
        failed = any(stem.by != job and stem.wore_out(day, until) for stem in own)
        yield Gone(action=action, stem_failed=failed, chance=chance)


class _StemOff(NamedTuple):
    pk: int
    on: date
    reason: str
    by: int | None

    def wore_out(self, first: date, last: date) -> bool:
        return self.reason in EndReason.wear() and first <= self.on <= last


def _stems_off(wheels: Iterable[int]) -> dict[int, list[_StemOff]]:
    """Stems that came off each wheel, and by which job."""
    off: dict[int, list[_StemOff]] = {}
    gone = Fitted.objects.filter(wheel__in=wheels, kind=PieceKind.STEM, ended_on__isnull=False)
    fields = ("wheel", "pk", "ended_on", "end_reason", "ended_by_job")
    for wheel, pk, on, reason, by in gone.order_by("ended_on").values_list(*fields):
        if on is not None:
            off.setdefault(wheel, []).append(_StemOff(pk, on, reason, by))
    return off


def _prices(spans: _Spans) -> dict[str, float]:
    """Mean price of the parts of a wheel, by action; of a visit for a stem, at today's labour."""
    jobs = {job for job, _ in spans}
    lines = JobLine.objects.filter(kind=LineKind.PART, wheel__isnull=False)
    sums = (
        lines.filter(job__in=jobs)
        .values_list("job", "wheel", "action")
        .annotate(cents=Sum("price_cents"))
    )
    by_wheel = {(job, wheel, action): cents for job, wheel, action, cents in sums}
    body, whole = (
        _mean(
            [by_wheel.get((*key, action), 0) for key, (done, *_) in spans.items() if done == action]
        )
        for action in _ACTIONS
    )
    settings, shop = AdviceSettings.load(), ShopSettings.load()
    minutes = settings.visit_minutes + settings.dismount_minutes
    stem = max(whole - body, 0.0)
    visit = for_minutes(shop.labour_price_cents, minutes) + stem
    return {"body_cents": body, "assembly_cents": whole, "visit_cents": visit}


def _mean(amounts: Sequence[int]) -> float:
    known = [cents for cents in amounts if cents]
    return sum(known) / len(known) if known else 0.0
