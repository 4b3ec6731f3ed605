"""The other wheels when one body has failed: their good bodies now, while we are here, or later.

Reads and reckons; customer's prices only.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.shop.amounts import percent_text
from inventory.shop.models import ShopSettings
from jobs.replacement.advice import sibling_advice
from jobs.replacement.siblings import SiblingAdvice, SiblingChoice
from jobs.replacement.wheel import Battery, Heard, Wheel
from jobs.review.advised import JobAdvised, WheelAdvised
from jobs.review.inputs.wheels import WITH_A_SENSOR
from jobs.review.rough import whole_money
from jobs.workshop.models import WheelAction


@dataclass(frozen=True, slots=True, kw_only=True)
class SiblingsAdvised:
    """Wheels that are alike, and one answer for them. Cents a wheel."""

    wheels: tuple[WheelAdvised, ...]
    advice: SiblingAdvice
    shop: ShopSettings

    @property
    def now(self) -> bool:
        return self.advice.choose is SiblingChoice.NOW

    @property
    def where(self) -> str:
        return ", ".join(one.case.now.where for one in self.wheels)

    @property
    def words(self) -> str:
        body = "body" if len(self.wheels) == 1 else "bodies"
        if self.now:
            return f"{self.where}: replace the sensor {body} now as well"
        return f"{self.where}: leave the sensor {body} until the tire comes off"

    @property
    def because(self) -> str:
        """What each road costs a wheel, in whole units: the level is rough."""
        its, first = self.advice, self.wheels[0]
        age = first.case.asked.body.age_years
        years = "less than a year" if age < 1 else f"about {age:.0f} year{'s' * (age >= 1.5)}"
        cheaper, dearer = (
            (its.cost_now, its.cost_wait) if self.now else (its.cost_wait, its.cost_now)
        )
        what = ("Now", "waiting") if self.now else ("Waiting", "now")
        low, high = (whole_money(cents, self.shop) for cents in (cheaper, dearer))
        return (
            f"{'It is' if len(self.wheels) == 1 else 'They are'} {years} old. {what[0]} is "
            f"expected to cost {low} a wheel over the visits left, {what[1]} {high}; "
            f"{percent_text(its.share)} of likely lifetimes agree."
        )

    def as_json(self) -> dict[str, Any]:
        return {
            "wheels": [one.case.now.wheel.key for one in self.wheels],
            "now": self.now,
            "words": self.words,
            "because": self.because,
            "share": round(self.advice.share, 3),
        }


def siblings_advised(found: JobAdvised) -> list[SiblingsAdvised]:
    """The other wheels' bodies, alike ones together; nothing where no body failed on this job."""
    if not any(_failed(one) for one in found.wheels):
        return []
    alike: dict[tuple[object, ...], list[WheelAdvised]] = {}
    for one in found.wheels:
        if _is_good(one):
            alike.setdefault(_likeness(one.case.asked), []).append(one)
    shop = ShopSettings.load()
    return [
        SiblingsAdvised(
            wheels=tuple(wheels), advice=sibling_advice(wheels[0].case.asked), shop=shop
        )
        for wheels in alike.values()
    ]


def _failed(one: WheelAdvised) -> bool:
    return one.case.asked.findings.is_dead or one.case.fitted_here


def _is_good(one: WheelAdvised) -> bool:
    """A body that answers and stays: one that gets replaced for its own sake is no sibling."""
    asked = one.case.asked
    answers = asked.findings.heard is Heard.ANSWERED and asked.findings.battery is not Battery.WEAK
    priced = asked.prices.parts.body is not None or asked.prices.parts.whole is not None
    return answers and priced and one.do not in WITH_A_SENSOR and not one.case.fitted_here


def _likeness(asked: Wheel) -> tuple[object, ...]:
    return (
        round(asked.body.age_years, 1),
        id(asked.body.laws),
        asked.prices,
        round(asked.years_to_tire_change, 1),
    )


def replaced_now(siblings: Iterable[SiblingsAdvised]) -> Mapping[int, WheelAction]:
    """What to do, by wheel, on the siblings that are cheaper replaced today."""
    return {
        one.case.now.wheel.pk: new_body_action(one)
        for group in siblings
        if group.now
        for one in group.wheels
    }


def new_body_action(one: WheelAdvised) -> WheelAction:
    """The cheapest action the rules allow here that makes the body new; else what is advised."""
    allowed = [
        option for option in one.options if option.action in WITH_A_SENSOR and not option.why_not
    ]
    cheapest = min(allowed, key=lambda option: option.expected_cents, default=None)
    return cheapest.action if cheapest else one.do
