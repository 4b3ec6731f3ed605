"""Everything known about a wheel when it is asked what to replace on it.

Words are those of the readings and inspections, so that a value moves over as it is. Money in
cents, ages in years. Vehicles without a sensor in the wheel are not asked about here: there is no
part to replace on them.
"""

from dataclasses import dataclass
from enum import StrEnum

from jobs.replacement.actions import Action
from jobs.replacement.posterior import Draws


class Mounting(StrEnum):
    SNAP_IN = "snap_in"
    CLAMP_IN = "clamp_in"
    STRAP = "strap"
    INSIDE = "inside"


class Construction(StrEnum):
    ONE_PIECE = "one_piece"
    TWO_PIECE = "two_piece"
    UNKNOWN = "unknown"


class Heard(StrEnum):
    ANSWERED = "answered"
    SILENT = "silent"
    WRONG_BAND = "wrong_band"
    PLAIN_VALVE = "plain_valve"
    TEMPORARY_SPARE = "temporary_spare"
    NOT_TRIED = "not_tried"


class Battery(StrEnum):
    GOOD = "good"
    WEAK = "weak"
    NOT_TOLD = "not_told"


class Lamp(StrEnum):
    OFF = "off"
    STEADY = "steady"
    FLASHES = "flashes"
    FAULT_LAMP = "fault_lamp"
    MESSAGE = "message"


class LeakAt(StrEnum):
    NONE = "none"
    CORE = "core"
    SEAL = "seal"
    STEM = "stem"
    BEAD = "bead"
    TREAD = "tread"
    RIM = "rim"


class StemCondition(StrEnum):
    SOUND = "sound"
    PERISHED = "perished"
    CORRODED = "corroded"
    DAMAGED = "damaged"
    NOT_SEEN = "not_seen"


TRIES_TO_BE_DEAD = 2
"""Silent once is not dead (common practice, no source): turn the wheel, try again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What tool, eye and soap water said of this wheel, and the lamp of the vehicle.

    id_stored : whether the vehicle knows this sensor's id; None where nobody could tell
    all_answer, ids_match : of all wheels of the vehicle; None where nobody could tell
    tire_off : the tire comes off anyway on this job
    seal_may_stay : the maker's procedure lets the seal of a clamp-in be used again
    """

    heard: Heard
    tries: int = 1
    battery: Battery = Battery.NOT_TOLD
    id_stored: bool | None = None
    lamp: Lamp = Lamp.OFF
    all_answer: bool | None = None
    ids_match: bool | None = None
    leak_at: LeakAt = LeakAt.NONE
    stem: StemCondition = StemCondition.NOT_SEEN
    tire_off: bool = False
    sealant_inside: bool = False
    seal_may_stay: bool = False

    @property
    def is_dead(self) -> bool:
        return self.heard is Heard.SILENT and self.tries >= TRIES_TO_BE_DEAD

    @property
    def is_weak(self) -> bool:
        return self.battery is Battery.WEAK

    @property
    def has_no_use(self) -> bool:
        """No sensor in this wheel does what this vehicle needs."""
        return self.is_dead or self.heard in (Heard.WRONG_BAND, Heard.PLAIN_VALVE)

    @property
    def stem_is_bad(self) -> bool:
        worn = (StemCondition.PERISHED, StemCondition.CORRODED, StemCondition.DAMAGED)
        return self.stem in worn or self.leak_at is LeakAt.STEM


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One body, stem or seal on the wheel.

    laws : equally likely lifetime laws of its family
    our_years_left, supplier_years_left : what is left of our warranty and of the supplier's
    age_known : False where the age is a guess; a rubber stem of unknown age counts as old
    """

    age_years: float
    laws: Draws
    our_years_left: float = 0.0
    supplier_years_left: float = 0.0
    age_known: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAmounts:
    """Cents for the parts of each action as a whole, service kit included; None: not to be had.

    body_and_stem : the assembly's work done with a body and a stem bought apart
    """

    reseal: int | None
    body: int | None
    stem: int | None
    assembly: int | None
    body_and_stem: int | None = None

    def of(self, action: Action) -> int | None:
        return 0 if action is Action.LEAVE else getattr(self, action.value)

    @property
    def whole(self) -> int | None:
        """The assembly's work the cheaper way."""
        known = [cents for cents in (self.assembly, self.body_and_stem) if cents is not None]
        return min(known, default=None)

    @property
    def in_two_parts(self) -> bool:
        """Whether a body and a stem bought apart are the cheaper way, or the only one."""
        if self.body_and_stem is None:
            return False
        return self.assembly is None or self.body_and_stem < self.assembly


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourAmounts:
    """Cents for work: taking one wheel apart, the vehicle's re-learn, preparing one new sensor.

    return_visit : all the labour of a visit of its own for one failed part
    """

    dismount: int = 0
    relearn: int = 0
    prepare: int = 0
    return_visit: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """Parts and labour, once at the customer's prices and once at the shop's costs."""

    parts: PartAmounts
    labour: LabourAmounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """A wheel with its parts, findings, prices and outlook.

    costs : the shop's; None leaves the shop's table out, as on a technician's page
    wheels_sharing : wheels of this job that get a new sensor and share the re-learn
    copied_id : the new sensor takes over the old id, so that there is nothing to re-learn
    years_to_tire_change : until the tire comes off anyway
    visits_left : tire changes left in the vehicle's life, the coming decision included
    """

    mounting: Mounting
    construction: Construction
    body: Part
    stem: Part
    seal: Part
    findings: Findings
    prices: Amounts
    costs: Amounts | None = None
    wheels_sharing: int = 1
    copied_id: bool = False
    years_to_tire_change: float = 4.0
    visits_left: int = 1

    def __post_init__(self) -> None:
        if self.years_to_tire_change <= 0:
            raise ValueError(
                f"years to the next tire change must be above 0; got {self.years_to_tire_change}"
            )
        if self.visits_left < 1 or self.wheels_sharing < 1:
            raise ValueError("visits left and wheels sharing a re-learn are at least 1")
        if min(self.body.age_years, self.stem.age_years, self.seal.age_years) < 0:
            raise ValueError("the age of a part is at least 0 years")

    @property
    def is_snap_in(self) -> bool:
        return self.mounting is Mounting.SNAP_IN

    @property
    def sits_on_valve(self) -> bool:
        return self.mounting in (Mounting.SNAP_IN, Mounting.CLAMP_IN)

    @property
    def is_one_piece(self) -> bool:
        return self.construction is Construction.ONE_PIECE


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The shop's own settings for advice; each a default an owner can change.

    rubber_stem_months : with the tire off, replace a rubber stem older than this; None: always
    close_below : share of laws agreeing, below which an advice is too close to call
    our_warranty_years, supplier_warranty_years : on a part fitted today
    """

    rubber_stem_months: int | None = None
    close_below: float = 0.65
    our_warranty_years: float = 1.0
    supplier_warranty_years: float = 1.0

    def rubber_stem_is_old(self, stem: Part) -> bool:
        if self.rubber_stem_months is None or not stem.age_known:
            return True
        return stem.age_years * 12 > self.rubber_stem_months
