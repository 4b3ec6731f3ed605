"""What a customer may choose on a job: two or three ways, with prices and what each leaves at risk.

Prices are those the job would charge, lines and work alike. What comes later is until the next
tire change, and rough: it is there to choose by. No cost and no margin comes near this.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from inventory.shop.amounts import money_text
from inventory.shop.models import ShopSettings
from jobs.replacement.figures import losses
from jobs.replacement.outlook import AtRisk, chance_of_any
from jobs.review.advised import JobAdvised, WheelAdvised, action_words
from jobs.review.inputs.wheels import WITH_A_SENSOR
from jobs.review.models import AdviceSettings
from jobs.review.rough import WORTH_SAYING, odds, whole_cents, whole_money
from jobs.review.siblings import SiblingsAdvised, new_body_action, replaced_now
from jobs.review.work import Work, work_of
from jobs.workshop.models import Job, WheelAction
from jobs.workshop.prices import for_minutes, less_discount

LEAST, OVER_YEARS, ALL = "Least today", "Least expected over the years", "All wheels"
WITH_A_STEM = (WheelAction.STEM, WheelAction.ASSEMBLY)
NEARLY_NEW_BELOW = 0.1
"""Chance of failing before the next tire change, below which a body is not worth replacing."""

NO_RISK = "Little: less than 1 in 20 that a sensor or stem fails before the next tire change."

Actions = Mapping[int, WheelAction]


@dataclass(frozen=True, kw_only=True)
class CustomerOption:
    """One way to go: an action for each wheel that was read."""

    titles: tuple[str, ...]
    job: Job
    wheels: tuple[WheelAdvised, ...]
    actions: Actions
    shop: ShopSettings
    settings: AdviceSettings
    relearn_sold: bool

    @property
    def title(self) -> str:
        return ", and ".join([self.titles[0], *(title.lower() for title in self.titles[1:])])

    @property
    def lines(self) -> list[tuple[str, str]]:
        """Each wheel and what is done on it."""
        return [(one.case.now.where, self._words(one)) for one in self.wheels]

    def _words(self, one: WheelAdvised) -> str:
        action = self._action(one)
        if action == WheelAction.LEAVE and self.titles[-1] == ALL and nearly_new(one):
            return "Leave as it is: nearly new"
        return action_words(action, snap_in=one.snap_in)

    @cached_property
    def price_cents(self) -> int | None:
        """As the job would charge it; None where a part has no price yet."""
        parts, work = 0, list[Work]()
        for one in self.wheels:
            chosen = one.case.parts.for_action(self._action(one), snap_in=one.snap_in)
            if any(choice.whole_price is None for choice in chosen):
                return None
            parts += sum(self._charged(choice.whole_price or 0) for choice in chosen)
            minutes = sum(choice.part.preparation_minutes for choice in chosen)
            work += work_of(
                self.job,
                one.case,
                action=self._action(one),
                prepare_minutes=minutes,
                settings=self.settings,
            )
        once = {each.name: each for each in work if each.of_the_job and not self.relearn_sold}
        done = [*(each for each in work if not each.of_the_job), *once.values()]
        rate = self.shop.labour_price_cents
        return parts + sum(self._charged(for_minutes(rate, each.minutes)) for each in done)

    @cached_property
    def later_cents(self) -> int:
        """What later failures are expected to add, in whole units of money."""
        added = 0
        for one in self.wheels:
            known = {str(row.action): row for row in one.advice.rows}
            row = known.get(self._action(one), known[WheelAction.LEAVE])
            added += row.expected_cents - row.price_now_cents
        return whole_cents(self._charged(added), self.shop)

    @property
    def expected_cents(self) -> int | None:
        return None if self.price_cents is None else self.price_cents + self.later_cents

    @property
    def expected(self) -> str:
        return "" if self.expected_cents is None else whole_money(self.expected_cents, self.shop)

    @property
    def agreed_words(self) -> str:
        """What is written down when the customer chooses this; what stays as it is goes unsaid."""
        done = [
            f"{where.lower()}: {words.lower()}"
            for (where, words), one in zip(self.lines, self.wheels, strict=True)
            if self._action(one) != WheelAction.LEAVE
        ]
        price = (
            "" if self.price_cents is None else f" for {money_text(self.price_cents, self.shop)}"
        )
        return f"{self.title}{price} ({'; '.join(done) or 'nothing today'})"[:300]

    @property
    def with_core(self) -> bool:
        """A valve core is sold from the jar: no price of it is in here."""
        return WheelAction.CORE in self.actions.values()

    @property
    def at_risk(self) -> list[str]:
        """Sentences: how likely a visit for a sensor is, and for a stem, and what one costs."""
        sentences = [
            f"{odds(chance)} {of} before the next tire change."
            for chance, of in (
                (self._chance(self._body), "that a sensor goes silent"),
                (self._chance(self._stem), "that a valve stem fails"),
            )
            if chance >= WORTH_SAYING
        ]
        if not sentences:
            return [NO_RISK]
        visit = max(float(row[0]) for row in losses([one.case.asked for one in self.wheels]))
        said = whole_money(self._charged(round(visit)), self.shop)
        return [*sentences, f"A visit for one sensor would then cost about {said}."]

    def _chance(self, part: Callable[[WheelAdvised], AtRisk | None]) -> float:
        return chance_of_any([its for one in self.wheels if (its := part(one)) is not None])

    def _body(self, one: WheelAdvised) -> AtRisk:
        asked, new = one.case.asked, self._action(one) in WITH_A_SENSOR
        useless = asked.findings.has_no_use or asked.findings.is_weak
        return AtRisk(
            age_years=0.0 if new else asked.body.age_years,
            years=asked.years_to_tire_change,
            laws=asked.body.laws,
            hopeless=useless and not new,
        )

    def _stem(self, one: WheelAdvised) -> AtRisk | None:
        asked, new = one.case.asked, self._action(one) in WITH_A_STEM
        if not asked.sits_on_valve:
            return None
        return AtRisk(
            age_years=0.0 if new else asked.stem.age_years,
            years=asked.years_to_tire_change,
            laws=asked.stem.laws,
            hopeless=asked.findings.stem_is_bad and not new,
        )

    def _action(self, one: WheelAdvised) -> WheelAction:
        return self.actions[one.case.now.wheel.pk]

    def _charged(self, cents: int) -> int:
        return less_discount(cents, self.job.account)

    def as_json(self) -> dict[str, Any]:
        return {
            "title": self.title,
            "wheels": [{"place": where, "words": words} for where, words in self.lines],
            "price_cents": self.price_cents,
            "expected_cents": self.expected_cents,
            "at_risk": self.at_risk,
        }


def customer_options(
    job: Job, found: JobAdvised, siblings: Sequence[SiblingsAdvised]
) -> list[CustomerOption]:
    """Two or three ways, cheapest today first; ways that come to the same are one."""
    wheels = tuple(one for one in found.wheels if not one.waits)
    if not wheels:
        return []
    first = CustomerOption(
        titles=(LEAST,),
        job=job,
        wheels=wheels,
        actions={one.case.now.wheel.pk: _least(one) for one in wheels},
        shop=ShopSettings.load(),
        settings=AdviceSettings.load(),
        relearn_sold=job.lines.filter(key=f"{job.key}:relearn").exists(),
    )
    every = replace(
        first, titles=(ALL,), actions={one.case.now.wheel.pk: _new_body(one) for one in wheels}
    )
    advised = {one.case.now.wheel.pk: one.do for one in wheels}
    ways = [
        first.actions,
        advised,
        advised | {pk: act for pk, act in replaced_now(siblings).items() if pk in advised},
        every.actions,
    ]
    cheapest = min(
        (replace(first, titles=(OVER_YEARS,), actions=way) for way in ways), key=_expected
    )
    return merged([first, cheapest, every])


def _expected(option: CustomerOption) -> float:
    return float("inf") if option.expected_cents is None else option.expected_cents


def _least(one: WheelAdvised) -> WheelAction:
    return one.do if one.settled else WheelAction(one.advice.must_at_least)


def _new_body(one: WheelAdvised) -> WheelAction:
    """On every wheel: what is made new already stays as advised, and so does what is nearly new."""
    return one.do if one.do in WITH_A_SENSOR or nearly_new(one) else new_body_action(one)


def nearly_new(one: WheelAdvised) -> bool:
    return one.advice.body_fails < NEARLY_NEW_BELOW


def merged(options: Iterable[CustomerOption]) -> list[CustomerOption]:
    found: list[CustomerOption] = []
    for one in options:
        same = next((other for other in found if other.actions == one.actions), None)
        if same is None:
            found.append(one)
        else:
            found[found.index(same)] = replace(same, titles=(*same.titles, *one.titles))
    return found
