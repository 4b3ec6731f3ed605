"""The advice on a job's wheels in the words of the page, the job card and the command.

Reads and reckons; writes nothing. Customer prices only: the shop's own table is asked for apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.shop.amounts import percent_text
from inventory.shop.models import ShopSettings
from jobs.replacement.actions import Action
from jobs.replacement.advice import Advice, Strength, advice_for
from jobs.replacement.cautions import CAUTION_WORDS, Caution
from jobs.replacement.need import Need
from jobs.review.inputs.laws import ShopLaws, shop_laws
from jobs.review.inputs.wheels import JobCase, WheelCase, job_case
from jobs.review.pressures import pressure_findings
from jobs.workshop.models import Job, WheelAction

FIRST_WORDS = {
    Need.NOT_TRIED: "Trigger the sensor",
    Need.TRY_AGAIN: "Try again",
    Need.INSPECT: "Look at the sensor first",
    Need.FIND_FAULT: "Find the fault in the vehicle",
    Need.FIND_LEAK: "Find the leak",
    Need.NO_SENSOR_HERE: "Nothing to do",
    Need.RELEARN: WheelAction.RELEARN.label,
    Need.CORE: WheelAction.CORE.label,
}
DO_WITHOUT_PARTS = {Need.RELEARN: WheelAction.RELEARN, Need.CORE: WheelAction.CORE}
STRENGTH_WORDS = {
    Strength.MUST: "Needed",
    Strength.OFFER: "Offer it: cheaper over the years",
    # The action in large words says it.
    Strength.LEAVE: "",
}


SURE_FROM = 0.9
BROKEN = (
    "It broke in our hands: it must work again before the vehicle leaves, and the customer does "
    "not pay for that."
)


def lower_first(words: str) -> str:
    return f"{words[:1].lower()}{words[1:]}"


def action_words(action: str, *, snap_in: bool) -> str:
    if snap_in and action in (WheelAction.RESEAL, WheelAction.STEM):
        return "Replace the rubber stem"
    return WheelAction(action).label


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One action as the customer's table shows it. Cents."""

    action: WheelAction
    words: str
    price_now_cents: int
    expected_cents: int
    why_not: str
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelAdvised:
    """One wheel's case with its advice."""

    case: WheelCase
    advice: Advice
    shop: ShopSettings
    close_below: float

    @property
    def settled(self) -> bool:
        """Whether the need speaks for itself and no part is weighed."""
        return self.advice.need in FIRST_WORDS and self.advice.action in (None, Action.LEAVE)

    @property
    def do(self) -> WheelAction:
        """What the button does; leave where somebody has to look or try again first."""
        if self.settled:
            return DO_WITHOUT_PARTS.get(self.advice.need, WheelAction.LEAVE)
        return WheelAction(self.advice.action or Action.LEAVE)

    @property
    def snap_in(self) -> bool:
        return self.advice.wheel.is_snap_in

    @property
    def words(self) -> str:
        if self._not_read_since:
            return "Trigger the new sensor"
        if self.settled:
            return FIRST_WORDS[self.advice.need]
        words = action_words(self.do, snap_in=self.snap_in)
        if self.advice.need is Need.WRONG_SENSOR:
            return f"Wrong sensor on this wheel: {lower_first(words)}"
        return words

    @property
    def waits(self) -> bool:
        """Nothing can be done on this wheel until it was read or looked at."""
        return self.do == WheelAction.LEAVE and self.advice.need in (
            Need.NOT_TRIED,
            Need.TRY_AGAIN,
            Need.INSPECT,
        )

    @property
    def _not_read_since(self) -> bool:
        return self.advice.need is Need.NOT_TRIED and self.case.fitted_here

    @property
    def because(self) -> str:
        if self._not_read_since:
            return "It was fitted on this job and nobody has read it in its place yet."
        if self._broken:
            return BROKEN
        return self.advice.because

    @property
    def _broken(self) -> bool:
        """Broken by us and not replaced yet."""
        return self.case.broken_here and not self.case.fitted_here

    @property
    def may_get_plain_valve(self) -> bool:
        """Only in place of a sensor that came in dead, where a plain valve is listed."""
        valve, hole = self.case.parts.plain_valve, self.case.now.wheel.hole
        if valve is None or (hole and hole != valve.part.hole):
            return False
        return self.case.asked.findings.is_dead and not self.case.broken_here

    @property
    def strength(self) -> str:
        if self.settled or self.waits:
            return ""
        return STRENGTH_WORDS[self.advice.strength]

    @property
    def is_close(self) -> bool:
        """Whether the likely lifetimes disagree on what is best, so that somebody has to look."""
        return self.advice.close and self.advice.share < self.close_below

    @property
    def sure(self) -> str:
        """How sure: a hard rule is never close, nor is what most likely lifetimes agree on."""
        leaves = self.advice.strength is Strength.LEAVE
        if self.settled or (leaves and not self.is_close):
            return ""
        agree = f"{percent_text(self.advice.share)} of likely lifetimes agree"
        other = self._next_best
        if self.is_close and self.advice.strength is Strength.MUST and other:
            return f"Look at it to choose: this, or {lower_first(other)} ({agree} on this)"
        if self.is_close:
            return f"Too close to call: look at it ({agree})"
        if self.advice.close and other:
            return f"{agree}; in the long run “{lower_first(other)}” costs about as little"
        return f"Sure: {agree}" if self.advice.share >= SURE_FROM else f"Likely: {agree}"

    @property
    def _next_best(self) -> str:
        """Words of the best action besides the advised one, over all visits left."""
        others = [
            row for row in self.advice.rows if not row.masked and row.action != self.advice.action
        ]
        if not others:
            return ""
        best = min(others, key=lambda row: row.over_visits_cents)
        return action_words(best.action, snap_in=self.snap_in)

    @property
    def first_caution(self) -> str:
        """The caution that matters for this action, once."""
        return next(iter(self.cautions), "")

    @property
    def cautions(self) -> tuple[str, ...]:
        keys = [Caution(key) for key in self.advice.cautions]
        if self._broken:
            own = (Caution.WORKING_SENSOR, Caution.DEAD_ON_ARRIVAL)
            keys = [Caution.WORKING_SENSOR, *(key for key in keys if key not in own)]
        return tuple(CAUTION_WORDS[key] for key in keys)

    @property
    def pressure_words(self) -> tuple[str, ...]:
        """Sensor against gauge, and the tire as it will stand when cold: two findings apart."""
        return tuple(pressure_findings(self.case, self.shop))

    @property
    def options(self) -> tuple[Option, ...]:
        return tuple(
            Option(
                action=WheelAction(row.action),
                words=action_words(row.action, snap_in=self.snap_in),
                price_now_cents=row.price_now_cents,
                expected_cents=row.expected_cents,
                why_not=row.masked,
                chosen=row.action == self.advice.action,
            )
            for row in self.advice.rows
            if not (self.snap_in and row.action is Action.RESEAL)
        )

    def as_json(self) -> dict[str, Any]:
        now = self.case.now
        return {
            "wheel": now.wheel.key,
            "place": now.where,
            "need": str(self.advice.need),
            "action": str(self.do),
            "words": self.words,
            "strength": str(self.advice.strength),
            "because": self.because,
            "share": round(self.advice.share, 3),
            "close": self.is_close,
            "cautions": list(self.cautions),
            "parts": [
                {"number": choice.part.number, "quantity": choice.quantity, "here": choice.here}
                for choice in self.case.parts.for_action(self.do, snap_in=self.snap_in)
            ],
            "options": [
                {
                    "action": str(option.action),
                    "price_now_cents": option.price_now_cents,
                    "expected_cents": option.expected_cents,
                    "why_not": option.why_not,
                }
                for option in self.options
            ],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class JobAdvised:
    case: JobCase
    wheels: tuple[WheelAdvised, ...]

    @property
    def to_read(self) -> bool:
        """Whether a sensor was not tried yet, or has to be tried again."""
        return any(one.advice.need in (Need.NOT_TRIED, Need.TRY_AGAIN) for one in self.wheels)

    def of(self, wheel_pk: int) -> WheelAdvised | None:
        return next((one for one in self.wheels if one.case.now.wheel.pk == wheel_pk), None)


def advised(job: Job, *, laws: ShopLaws | None = None, with_costs: bool = False) -> JobAdvised:
    """What to do on every wheel of a job that carries a sensor."""
    case = job_case(job, laws=laws or shop_laws(), with_costs=with_costs)
    found: Sequence[Advice] = advice_for([one.asked for one in case.wheels], case.policy)
    shop = ShopSettings.load()
    wheels = tuple(
        WheelAdvised(case=one, advice=its, shop=shop, close_below=case.policy.close_below)
        for one, its in zip(case.wheels, found, strict=True)
    )
    return JobAdvised(case=case, wheels=wheels)
