"""What to do on a wheel: the one door through which pages and commands ask.

First whether a part is needed at all, then the hard rules, then the least expected cost for the
customer. The level of a cost is rough; it is there to choose by, not to quote. Advice defers to the
vehicle maker's procedure and to whoever looks at the wheel.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from jobs.replacement.actions import ACTIONS, PARTS, Action
from jobs.replacement.because import because_of
from jobs.replacement.cautions import Caution, cautions_for
from jobs.replacement.figures import Figures, figures, losses, prices_now, shop_figures
from jobs.replacement.mask import Mask, mask_of
from jobs.replacement.need import SETTLED_WITHOUT_PARTS, Need, first_need
from jobs.replacement.siblings import SiblingAdvice, SiblingPrices, sibling_replacement
from jobs.replacement.weibull import Array, break_even_age
from jobs.replacement.wheel import Policy, Wheel


class Strength(StrEnum):
    MUST = "must"
    OFFER = "offer"
    LEAVE = "leave"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One action in the customer's table, cents; `masked` says why it is out of the question."""

    action: Action
    price_now_cents: int
    expected_cents: int
    over_visits_cents: int
    share: float
    masked: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopRow:
    """One action in the shop's table, cents: earned today, less what our warranty will cost."""

    action: Action
    margin_now_cents: int
    warranty_cents: int
    earned_cents: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to do, why, and how sure; the tables are for whoever asks further.

    action : None where somebody has to look, or try again, before anything is decided
    must_at_least : the least that the hard rules ask for
    share : of the likely laws, how many agree that the action is the cheapest allowed
    close : too close to call, look at it
    body_fails, stem_fails : chance before the next tire change, left as they are
    """

    wheel: Wheel
    need: Need
    action: Action | None
    strength: Strength
    must_at_least: Action
    because: str
    cautions: tuple[Caution, ...]
    share: float
    close: bool
    rows: tuple[Row, ...]
    body_fails: float
    stem_fails: float

    @property
    def body_break_even_years(self) -> float | None:
        """Age from which a new body pays while the old one is good; None where it never does."""
        wheel = self.wheel
        with_stem = wheel.is_one_piece or not wheel.sits_on_valve or self._stem_is_due
        return self._break_even(Action.ASSEMBLY if with_stem else Action.BODY, column=0)

    @property
    def stem_break_even_years(self) -> float | None:
        """The same for the stem; None too where it is no matter of choice."""
        if not self.wheel.sits_on_valve or self._stem_is_due:
            return None
        return self._break_even(
            Action.ASSEMBLY if self.wheel.is_one_piece else Action.STEM, column=1
        )

    @property
    def _stem_is_due(self) -> bool:
        return self.wheel.is_snap_in and self.wheel.findings.tire_off

    def _break_even(self, dearer: Action, *, column: int) -> float | None:
        price, loss = prices_now([self.wheel])[0], losses([self.wheel])[0]
        if not loss[column]:
            # As long as a shop has set no prices, a failure costs nothing.
            return None
        opened = Action.STEM if self._stem_is_due else Action.RESEAL
        anyway = opened if self.wheel.findings.tire_off else Action.LEAVE
        laws = getattr(self.wheel, PARTS[column]).laws
        return break_even_age(
            self.wheel.years_to_tire_change,
            scale=laws.scale,
            shape=laws.shape,
            price=float(price[ACTIONS.index(dearer)] - price[ACTIONS.index(anyway)]),
            failure_cost=float(loss[column]),
        )

    def shop_rows(self, policy: Policy) -> tuple[ShopRow, ...]:
        """The shop's own table; empty where the wheel came without the shop's costs."""
        if self.wheel.costs is None:
            return ()
        own = shop_figures(self.wheel, self.wheel.costs, policy)
        return tuple(
            ShopRow(
                action=action,
                margin_now_cents=round(margin),
                warranty_cents=round(warranty),
                earned_cents=round(margin) - round(warranty),
            )
            for action, margin, warranty in zip(ACTIONS, own.margin_now, own.warranty, strict=True)
        )


def sibling_advice(wheel: Wheel) -> SiblingAdvice:
    """Another wheel's body failed and this one is good: its body too while we are here, or wait?

    Every visit of its own pays `return_visit`; at a tire change the wheel is open anyway. Amounts
    are the customer's, cents; the plan covers the visits left.

    Parameters
    ----------
    wheel : the good sibling, as it stands today

    Returns
    -------
    SiblingAdvice
    """
    labour, parts = wheel.prices.labour, wheel.prices.parts
    apart = not (wheel.is_one_piece or wheel.is_snap_in or not wheel.sits_on_valve)
    body = parts.body if apart and parts.body is not None else parts.whole
    if body is None:
        raise ValueError("no sensor with a price fits this wheel; price one first")
    prices = SiblingPrices(
        setup=max(labour.return_visit - labour.dismount, 0),
        dismount=labour.dismount,
        part=body + labour.prepare,
    )
    laws = wheel.body.laws
    return sibling_replacement(
        wheel.body.age_years,
        scale=laws.scale,
        shape=laws.shape,
        prices=prices,
        to_tire_change=wheel.years_to_tire_change,
        later_horizon=wheel.years_to_tire_change,
        horizons=wheel.visits_left,
    )


def advice(wheel: Wheel, policy: Policy) -> Advice:
    """What to do on one wheel. See `advice_for`."""
    return advice_for([wheel], policy)[0]


def advice_for(wheels: Sequence[Wheel], policy: Policy) -> list[Advice]:
    """What to do on each of many wheels, reckoned together.

    Least expected cost among what the hard rules allow: price now + Σ chance of a later failure ×
    (return visit + part). Where the plan over all visits left says otherwise, the cheaper of the
    two today is advised and marked close.

    Parameters
    ----------
    wheels : what is known of each
    policy : the shop's settings

    Returns
    -------
    list of Advice, in the order of the wheels
    """
    if not wheels:
        return []
    masks = [mask_of(wheel, policy) for wheel in wheels]
    allowed = np.array([mask.allowed for mask in masks])
    numbers = figures(wheels, allowed, rubber_always=policy.rubber_stem_months is None)
    choices = _choices(numbers, allowed)
    return [
        _advice(wheel, mask, _Numbers.of(numbers, row), choices[row], policy)
        for row, (wheel, mask) in enumerate(zip(wheels, masks, strict=True))
    ]


@dataclass(frozen=True, slots=True)
class _Numbers:
    """One wheel's line of the figures, as plain numbers."""

    price_now: list[float]
    expected: list[float]
    over_visits: list[float]
    share: list[float]
    fails: list[float]

    @classmethod
    def of(cls, numbers: Figures, row: int) -> "_Numbers":
        return cls(
            numbers.price_now[row].tolist(),
            numbers.expected[row].tolist(),
            numbers.over_visits[row].tolist(),
            numbers.share[row].tolist(),
            numbers.fails_kept[row].tolist(),
        )


@dataclass(frozen=True, slots=True)
class _Choice:
    """Column of the advised action, of the least the rules ask for, and whether plans disagree."""

    action: int
    least: int
    plans_differ: bool


def _choices(numbers: Figures, allowed: Array) -> list[_Choice]:
    price, expected, over_visits = (
        np.where(allowed, table, np.inf)
        for table in (numbers.price_now, numbers.expected, numbers.over_visits)
    )
    soon, ahead, least = expected.argmin(axis=1), over_visits.argmin(axis=1), price.argmin(axis=1)
    rows = np.arange(len(soon))
    cheaper = np.where(price[rows, ahead] < price[rows, soon], ahead, soon)
    table = zip(cheaper.tolist(), least.tolist(), (soon != ahead).tolist(), strict=True)
    return [_Choice(action, low, differ) for action, low, differ in table]


def _advice(wheel: Wheel, mask: Mask, numbers: _Numbers, choice: _Choice, policy: Policy) -> Advice:
    need, least = first_need(wheel), ACTIONS[choice.least]
    action = _action(need, wheel, mask, choice)
    weighed = action is not None and not _is_settled(need, wheel)
    share = numbers.share[choice.action] if weighed else 1.0
    agreed = share >= policy.close_below and not choice.plans_differ
    if need is Need.NONE and action not in (None, Action.LEAVE):
        need = Need.PART
    return Advice(
        wheel=wheel,
        need=need,
        action=action,
        strength=_strength(action, least, mask),
        must_at_least=least,
        because=because_of(need, action, mask, wheel, numbers.fails),
        cautions=cautions_for(wheel, action, need),
        share=share,
        close=weighed and not agreed,
        rows=_rows(mask, numbers),
        body_fails=numbers.fails[0],
        stem_fails=numbers.fails[1],
    )


def _is_settled(need: Need, wheel: Wheel) -> bool:
    """Whether the matter ends before parts are weighed. An open wheel is weighed all the same."""
    if need in (Need.TRY_AGAIN, Need.NOT_TRIED, Need.NO_SENSOR_HERE):
        return True
    return need in SETTLED_WITHOUT_PARTS and not wheel.findings.tire_off


def _action(need: Need, wheel: Wheel, mask: Mask, choice: _Choice) -> Action | None:
    if need is Need.NO_SENSOR_HERE:
        return Action.LEAVE
    if need is Need.INSPECT or not any(mask.allowed):
        return None
    return ACTIONS[choice.least if _is_settled(need, wheel) else choice.action]


def _strength(action: Action | None, least: Action, mask: Mask) -> Strength:
    if action is Action.LEAVE:
        return Strength.LEAVE
    forced = any(force.part != "seal" for force in mask.forces)
    return Strength.MUST if forced or action in (None, least) else Strength.OFFER


def _rows(mask: Mask, numbers: _Numbers) -> tuple[Row, ...]:
    table = zip(
        ACTIONS,
        numbers.price_now,
        numbers.expected,
        numbers.over_visits,
        numbers.share,
        strict=True,
    )
    return tuple(
        Row(
            action=action,
            price_now_cents=round(price),
            expected_cents=round(expected),
            over_visits_cents=round(over_visits),
            share=share,
            masked=mask.reasons.get(action, ""),
        )
        for action, price, expected, over_visits, share in table
    )
