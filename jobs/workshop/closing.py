"""What a job still needs before the vehicle leaves, by its kind; read by its page and its closing.

A need can be waived with a reason, save where someone must have decided: a warning system that is
left out of work is never released in silence. United States law in short (49 U.S.C. 30122(b), and
the agency's letter to the tire trade of November 2011): a repair business may not knowingly make
it inoperative; a sensor dead on arrival may give way to a plain valve, but one that the shop broke
must work again before the vehicle is released. Local law and the vehicle maker's procedure decide.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Sum

from inventory.catalog.models import PartKind
from jobs.workshop.models import (
    EndReason,
    Fitted,
    Heard,
    Job,
    JobKind,
    Lamp,
    Payer,
    PieceKind,
    Place,
    Position,
    Source,
)

_ASKS_LAMP_BEFORE = {JobKind.SENSOR, JobKind.RELEARN}
_ASKS_LAMP_AFTER = {JobKind.SENSOR, JobKind.RELEARN, JobKind.TIRE_CHANGE}
_FAULT_LAMPS = {Lamp.FLASHES, Lamp.FAULT_LAMP, Lamp.MESSAGE}
_ASKS_READINGS = {JobKind.SENSOR, JobKind.TIRE_CHANGE}
_SENSORS = {PartKind.ASSEMBLY, PartKind.BODY}
BROKEN = (
    "a sensor broke in our hands and none works in its place: it must work again before the "
    "vehicle leaves. Write down who decides otherwise."
)
PLAIN = "a plain valve stands where a sensor belongs: write down who decided."
BARE = (
    "no sensor, on a vehicle whose system told no fault before the work: move the sensors, sell "
    "sensors or decline. Say how the lamp was, or write down who decided."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One thing missing: the field of the closing form it concerns, and what to do about it.

    to_decide : a reason alone will not do; an approval must say who decided
    decides : the wheel that the approval must be about, and where it stands
    limit : the account must approve that its limit is passed
    """

    field: str
    sentence: str
    to_decide: bool = False
    decides: tuple[int, str] | None = None
    limit: bool = False


def needs(job: Job) -> list[Need]:
    """In the order in which a job goes; the values on `job` itself count, saved or not."""
    return [*_of_lamp(job), *_of_wheels(job), *_of_ticks(job), *_of_account(job), *_of_law(job)]


def _of_lamp(job: Job) -> Iterator[Need]:
    if job.kind in _ASKS_LAMP_BEFORE and not job.lamp_before:
        yield Need(field="lamp_before", sentence="Say how the lamp was before the work.")
    if job.kind in _ASKS_LAMP_AFTER and not job.lamp_after:
        yield Need(field="lamp_after", sentence="Restart and say how the lamp is after the work.")
    elif job.lamp_after not in {"", Lamp.OFF}:
        yield Need(field="lamp_after", sentence="The lamp does not stay off after the work.")


def _of_wheels(job: Job) -> Iterator[Need]:
    if job.kind not in _ASKS_READINGS or not _is_direct(job):
        return
    last = _last_heard(job)
    for place in _places_with_sensors(job):
        where = place.get_position_display().lower()
        heard = last.get(place.wheel_id, Heard.NOT_TRIED)
        if heard == Heard.NOT_TRIED:
            yield Need(field="readings", sentence=f"Trigger the sensor {where} and write it down.")
        elif heard in {Heard.SILENT, Heard.WRONG_BAND}:
            words = Heard(heard).label.lower()
            yield Need(field="readings", sentence=f"The sensor {where} was last: {words}.")


def _is_direct(job: Job) -> bool:
    application = job.vehicle.application
    return application is None or application.is_direct


def _last_heard(job: Job) -> dict[int, str]:
    """By wheel, what the sensor in it said last; one that this job put in may not have yet."""
    put_in = _sensors_put_in(job)
    rows = job.readings.filter(source=Source.TOOL).order_by("at", "pk")
    told = rows.values_list("wheel", "heard", "at")
    return {wheel: heard for wheel, heard, at in told if at >= put_in.get(wheel, at)}


def _sensors_put_in(job: Job) -> dict[int, datetime]:
    """When this job last put a sensor into each wheel."""
    sensors = job.lines.filter(part__kind__in=_SENSORS, quantity__gt=0, posting__isnull=False)
    rows = sensors.exclude(wheel=None).order_by("posting__happened_at", "posting")
    return dict(rows.values_list("wheel", "posting__happened_at"))


def _places_with_sensors(job: Job) -> list[Place]:
    """Wheels on the road, and the spare where it carries a sensor."""
    application = job.vehicle.application
    mounted = Place.objects.now().mounted().of(job.vehicle).order_by("pk")
    if application is None or not application.spare_has_sensor:
        mounted = mounted.exclude(position=Position.SPARE)
    return list(mounted)


def _of_ticks(job: Job) -> Iterator[Need]:
    if job.kind != JobKind.SENSOR:
        return
    if not job.pressures_set_cold:
        yield Need(
            field="pressures_set_cold",
            sentence="Set all pressures cold to the placard and read them back.",
        )
    if not job.wheel_nuts_tightened and _wheels_came_off(job):
        yield Need(
            field="wheel_nuts_tightened",
            sentence="Tighten the wheel nuts to the vehicle maker's torque and order.",
        )
    if not job.road_checked:
        yield Need(field="road_checked", sentence="Drive it and see that the lamp stays off.")


def _wheels_came_off(job: Job) -> bool:
    return job.fitted.exists() or job.inspections.filter(tire_off=True).exists()


def _of_account(job: Job) -> Iterator[Need]:
    account = job.account
    if account is None:
        return
    if account.order_number_needed and not job.order_number:
        yield Need(field="order_number", sentence=f"{account} wants its order number on the job.")
    theirs = job.lines.filter(payer=Payer.ACCOUNT)
    total = theirs.aggregate(total=Sum("price_cents"))["total"] or 0
    over = account.limit_cents is not None and total > account.limit_cents
    if over and not job.approvals.filter(above_limit=True).exclude(who="").exists():
        who = account.approver or "its approver"
        yield Need(
            field="approvals",
            sentence=f"The job is above the limit of {account}; ask {who} and write it down.",
            to_decide=True,
            limit=True,
        )


def _of_law(job: Job) -> Iterator[Need]:
    """A need for every wheel about which nobody has decided yet."""
    decided = set(
        job.approvals.filter(decides_safety=True).exclude(who="").values_list("wheel", flat=True)
    )
    if None in decided:
        return
    of_wheels = dict.fromkeys(_broken_and_silent(job), BROKEN)
    if _is_direct(job):
        of_wheels |= dict.fromkeys(_bare_on_a_working_system(job), BARE)
        of_wheels |= dict.fromkeys(_plain_valves(job), PLAIN)
    left = {wheel: words for wheel, words in of_wheels.items() if wheel not in decided}
    stands = dict(
        Place.objects.now().mounted().filter(wheel__in=left).values_list("wheel", "position")
    )
    for wheel, words in left.items():
        where = Position(stands[wheel]).label if wheel in stands else "A stored wheel"
        yield Need(
            field="approvals",
            sentence=f"{where}: {words}",
            to_decide=True,
            decides=(wheel, where),
        )


def _broken_and_silent(job: Job) -> list[int]:
    broken = job.taken_off.filter(kind=PieceKind.BODY, end_reason=EndReason.BROKEN_BY_US)
    wheels = list(broken.values_list("wheel", flat=True))
    last = _last_heard(job)
    replaced = set(
        Fitted.objects.now()
        .filter(wheel__in=wheels, kind=PieceKind.BODY)
        .values_list("wheel", flat=True)
    )
    return [w for w in wheels if w not in replaced or last.get(w) != Heard.ANSWERED]


def _bare_on_a_working_system(job: Job) -> list[int]:
    """Wheels that were heard to have a plain valve, where no lamp had reported a fault before."""
    if job.lamp_before in _FAULT_LAMPS:
        return []
    return [wheel for wheel, heard in _last_heard(job).items() if heard == Heard.PLAIN_VALVE]


def _plain_valves(job: Job) -> list[int]:
    """Wheels that got a plain valve and carry no sensor elsewhere in them."""
    valves = job.fitted.now().filter(part__kind=PartKind.PLAIN_VALVE)
    bodies = Fitted.objects.now().filter(kind=PieceKind.BODY)
    bare = valves.exclude(wheel__in=bodies.values("wheel"))
    return list(bare.order_by("pk").values_list("wheel", flat=True))
