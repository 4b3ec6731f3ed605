"""A job as the arithmetic of replacement wants it: each mounted wheel with all that is known."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from inventory.catalog import fit
from inventory.catalog.models import Application, Axle
from inventory.shop.models import ShopSettings
from jobs.replacement import wheel as known
from jobs.review.inputs.laws import ShopLaws
from jobs.review.inputs.parts import Choice, WheelParts, wheel_parts
from jobs.review.inputs.renewed import renewed_on, still_found
from jobs.review.models import AdviceSettings
from jobs.workshop.ages import DAYS_A_YEAR
from jobs.workshop.models import (
    EndReason,
    Heard,
    Inspection,
    Job,
    PieceKind,
    Position,
    Reading,
    SinceKnown,
    Source,
    Vehicle,
    WheelAction,
    WheelKind,
)
from jobs.workshop.standing import PieceNow, Standing, WheelNow, standing

AXLE_OF = {
    Position.FRONT_LEFT: Axle.FRONT,
    Position.FRONT_RIGHT: Axle.FRONT,
    Position.REAR_LEFT: Axle.REAR,
    Position.REAR_RIGHT: Axle.REAR,
    Position.SPARE: Axle.SPARE,
}
WITH_A_SENSOR = (WheelAction.BODY, WheelAction.ASSEMBLY)
# A piece nobody has seen the like of on this wheel: as old as a vehicle half through its life.
UNKNOWN_AGE_YEARS = 6.0
# Of a car tire in tenths of a millimetre: new (common practice, no source), and worn to its
# indicators, 2/32 inch (49 CFR 570.9, from memory).
NEW_TREAD, WORN_TREAD = 80, 16
LEAST_YEARS = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelCase:
    """One mounted wheel of a job: as it stands, as it was found, what fits, what is asked.

    fitted_here : this job put a sensor into it; what the old one said before is no finding of it
    broken_here : its sensor broke in our hands on this job
    """

    now: WheelNow
    reading: Reading | None
    gauge: Reading | None
    inspection: Inspection | None
    parts: WheelParts
    asked: known.Wheel

    placard_kpa: int | None
    fitted_here: bool = False
    broken_here: bool = False

    @property
    def unknown_id(self) -> str:
        """The id it answered with, where another one is written down for this wheel."""
        told, kept = self.reading.sensor_id if self.reading else "", self.now.sensor_id
        return told if told and kept is not None and kept.sensor_id != told else ""

    @property
    def axle(self) -> Axle:
        return axle_of(self.now)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCase:
    """A job with its vehicle as it stands and a case for every wheel that carries a sensor."""

    job: Job
    standing: Standing
    wheels: tuple[WheelCase, ...]
    policy: known.Policy


def axle_of(now: WheelNow) -> Axle:
    assert now.place is not None
    return AXLE_OF[Position(now.place.position)]


def advice_policy(settings: AdviceSettings) -> known.Policy:
    return known.Policy(
        rubber_stem_months=settings.rubber_stem_months,
        close_below=settings.close_below_percent / 100,
        our_warranty_years=settings.our_warranty_months / 12,
    )


def job_case(job: Job, *, laws: ShopLaws, with_costs: bool) -> JobCase:
    """Everything the advice on a job needs, in a constant number of queries."""
    settings, shop = AdviceSettings.load(), ShopSettings.load()
    on = job.site.today() if job.is_open else job.site.day_of(job.opened_at)
    vehicle = Vehicle.objects.for_page().get(pk=job.vehicle_id)
    stands = standing(vehicle, on=on)
    application = vehicle.application
    if application is None or not application.is_direct:
        return JobCase(job=job, standing=stands, wheels=(), policy=advice_policy(settings))
    mounted = [now for now in stands.mounted if carries_sensor(now, application)]
    findings = fit.Findings(
        own_wheel=any(now.wheel.kind == WheelKind.OWN for now in mounted),
        pressure_set_kpa=vehicle.pressure_set_kpa,
    )
    fitted = _sensors_fitted(job)
    builder = _Builder(
        job=job,
        application=application,
        settings=settings,
        shop=shop,
        laws=laws,
        on=on,
        readings=_last_readings(job, fitted),
        fitted=fitted,
        broken=_broken_by_us(job),
        inspections={row.wheel_id: row for row in job.inspections.all()},
        renewed=renewed_on(job),
        parts=wheel_parts(
            application,
            [axle_of(now) for now in mounted],
            site=job.site,
            on=on,
            findings=findings,
            with_costs=with_costs,
            job_key=job.key,
        ),
        with_costs=with_costs,
    )
    return JobCase(
        job=job,
        standing=stands,
        wheels=tuple(builder.cases(mounted)),
        policy=advice_policy(settings),
    )


def carries_sensor(now: WheelNow, application: Application) -> bool:
    assert now.place is not None
    return now.place.position != Position.SPARE or application.spare_has_sensor


def _sensors_fitted(job: Job) -> dict[int, datetime]:
    """When this job put a sensor into each of these wheels."""
    bodies = job.fitted.now().filter(kind=PieceKind.BODY).values("wheel")
    lines = job.lines.filter(wheel__in=bodies, action__in=WITH_A_SENSOR, posting__isnull=False)
    rows = lines.order_by("posting__happened_at")
    return dict(rows.values_list("wheel", "posting__happened_at"))


def _broken_by_us(job: Job) -> set[int]:
    broken = job.taken_off.filter(kind=PieceKind.BODY, end_reason=EndReason.BROKEN_BY_US)
    return set(broken.values_list("wheel", flat=True))


def _last_readings(job: Job, fitted: Mapping[int, datetime]) -> dict[tuple[int, str], Reading]:
    """The last of each source; of a sensor fitted meanwhile, only what was read since."""
    rows = job.readings.order_by("at", "pk")
    return {
        (row.wheel_id, row.source): row
        for row in rows
        if row.wheel_id not in fitted or row.at >= fitted[row.wheel_id]
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Builder:
    job: Job
    application: Application
    settings: AdviceSettings
    shop: ShopSettings
    laws: ShopLaws
    on: date
    readings: Mapping[tuple[int, str], Reading]
    fitted: Mapping[int, datetime]
    broken: Collection[int]
    inspections: Mapping[int, Inspection]
    renewed: Mapping[int, Mapping[str, datetime]]
    parts: Mapping[str, WheelParts]
    with_costs: bool

    def cases(self, mounted: Sequence[WheelNow]) -> list[WheelCase]:
        tool = {now.wheel.pk: self.readings.get((now.wheel.pk, Source.TOOL)) for now in mounted}
        heard = [None if one is None else one.heard for one in tool.values()]
        all_answer = None if None in heard else all(one == Heard.ANSWERED for one in heard)
        stored = [one.id_stored_in_vehicle for one in tool.values() if one is not None]
        ids_match = None if None in stored or len(stored) < len(tool) else all(stored)
        sharing = sum(1 for one in heard if one in (Heard.SILENT, Heard.WRONG_BAND)) or 1
        return [
            self._case(now, tool[now.wheel.pk], all_answer, ids_match, sharing) for now in mounted
        ]

    def _case(
        self,
        now: WheelNow,
        tool: Reading | None,
        all_answer: bool | None,
        ids_match: bool | None,
        sharing: int,
    ) -> WheelCase:
        inspection = self.inspections.get(now.wheel.pk)
        still = still_found(inspection, self.renewed.get(now.wheel.pk, {}))
        parts = self.parts[axle_of(now)]
        asked = known.Wheel(
            mounting=known.Mounting(self.application.mounting or "clamp_in"),
            construction=known.Construction(self._construction(now)),
            body=self._part(now, PieceKind.BODY, now.body),
            stem=self._part(now, PieceKind.STEM, now.stem),
            seal=self._part(now, PieceKind.SEAL, now.seal),
            findings=self._findings(tool, still, all_answer, ids_match),
            prices=known.Amounts(
                parts=parts.amounts(snap_in=self.snap_in),
                labour=self._labour(parts, self.shop.labour_price_cents),
            ),
            costs=self._costs(parts),
            wheels_sharing=sharing,
            years_to_tire_change=self.years_to_tire_change(now),
            visits_left=self.settings.visits_left,
        )
        return WheelCase(
            now=now,
            reading=tool,
            gauge=self.readings.get((now.wheel.pk, Source.GAUGE)),
            inspection=inspection,
            parts=parts,
            asked=asked,
            placard_kpa=self.application.placard_kpa(axle_of(now)),
            fitted_here=now.wheel.pk in self.fitted,
            broken_here=now.wheel.pk in self.broken,
        )

    @property
    def snap_in(self) -> bool:
        return self.application.mounting == known.Mounting.SNAP_IN

    def _construction(self, now: WheelNow) -> str:
        """What stands in the wheel tells more than what the vehicle was built with."""
        part = now.body.piece.part if now.body else None
        if part is not None and part.construction != known.Construction.UNKNOWN:
            return part.construction
        return self.application.construction

    def _part(self, now: WheelNow, kind: str, piece: PieceNow | None) -> known.Part:
        fitted = piece.piece if piece else None
        maker = fitted.part.maker if fitted and fitted.part else ""
        if not maker and fitted and fitted.since_known == SinceKnown.FACTORY:
            maker = self.application.make
        family = self.laws.family_of(
            kind, self.application.mounting, self._construction(now), maker
        )
        ours = fitted is not None and fitted.since_known == SinceKnown.FITTED
        # A warranty runs by the calendar, however long the wheel lay in store.
        had = (self.on - piece.new_on).days / DAYS_A_YEAR if piece else 0.0
        left = self.settings.our_warranty_months / 12 - had
        return known.Part(
            age_years=max(0.0, piece.age_years) if piece else UNKNOWN_AGE_YEARS,
            laws=self.laws.draws(family),
            our_years_left=max(0.0, left) if ours else 0.0,
            age_known=piece.age_known if piece else False,
        )

    def _findings(
        self,
        tool: Reading | None,
        inspection: Inspection | None,
        all_answer: bool | None,
        ids_match: bool | None,
    ) -> known.Findings:
        return known.Findings(
            heard=known.Heard(tool.heard if tool else Heard.NOT_TRIED),
            tries=tool.tries if tool else 1,
            battery=known.Battery(tool.battery if tool else "not_told"),
            id_stored=tool.id_stored_in_vehicle if tool else None,
            lamp=known.Lamp(self.job.lamp_before or "off"),
            all_answer=all_answer,
            ids_match=ids_match,
            leak_at=known.LeakAt(inspection.leak_at if inspection else "none"),
            stem=known.StemCondition(inspection.stem if inspection else "not_seen"),
            tire_off=inspection.tire_off if inspection else False,
            sealant_inside=inspection.sealant_inside if inspection else False,
        )

    def _labour(self, parts: WheelParts, cents_an_hour: int) -> known.LabourAmounts:
        def cents(minutes: int) -> int:
            return round(cents_an_hour * minutes / 60)

        relearn = self.application.relearn_minutes or self.settings.relearn_minutes
        prepare = _preparation(parts.body or parts.assembly)
        visit = self.settings.visit_minutes + self.settings.dismount_minutes + relearn + prepare
        return known.LabourAmounts(
            dismount=cents(self.settings.dismount_minutes),
            relearn=cents(relearn),
            prepare=cents(prepare),
            return_visit=cents(visit),
        )

    def _costs(self, parts: WheelParts) -> known.Amounts | None:
        if not self.with_costs:
            return None
        return known.Amounts(
            parts=parts.amounts(snap_in=self.snap_in, costs=True),
            labour=self._labour(parts, self.shop.labour_cost_cents),
        )

    def years_to_tire_change(self, now: WheelNow) -> float:
        """From the age and the tread of the tire where known; a worn or old one goes soon."""
        planned = float(self.settings.years_to_tire_change)
        fitted_on, tread = now.wheel.tire_fitted_on, now.wheel.tread_tenths_mm
        used = (self.on - fitted_on).days / DAYS_A_YEAR if fitted_on else 0.0
        left = 1.0 if tread is None else (tread - WORN_TREAD) / (NEW_TREAD - WORN_TREAD)
        return max(LEAST_YEARS, min(planned - used, planned * left))


def _preparation(choice: Choice | None) -> int:
    return choice.part.preparation_minutes if choice else 0
