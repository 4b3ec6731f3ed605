"""The figures behind an advice, for many wheels at once: chances, costs, and who agrees.

Three tables come out of one pass over the laws: what each action costs the customer until the
next tire change (law by law, so that agreement can be counted), what it costs over the visits
left, and what it earns the shop. Kernels assume; `advice` is the door that checks.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from jobs.replacement.actions import ACTIONS, MAKES_NEW, PARTS
from jobs.replacement.costs import expected_costs
from jobs.replacement.posterior import DRAWS
from jobs.replacement.visits import PartAhead, costs_over_visits, half_stretches
from jobs.replacement.weibull import Array
from jobs.replacement.wheel import Amounts, Policy, Wheel

# Laws of body, stem and seal are independent. Pairing the i-th of one with the (k·i)-th of the
# next, k odd, spreads the combinations evenly: a lattice, with no chance in it.
_PAIRING = {"body": 1, "stem": 45, "seal": 83}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Per wheel and action, in the order of ACTIONS.

    price_now, expected : (n, 5) cents; expected until the next tire change, price included
    over_visits : (n, 5) cents over the visits left
    share : (n, 5) of the laws under which the action is the cheapest allowed
    fails_kept, fails_new : (n, 3) mean chance of failing before the next tire change
    """

    price_now: Array
    expected: Array
    over_visits: Array
    share: Array
    fails_kept: Array
    fails_new: Array


def figures(wheels: Sequence[Wheel], allowed: NDArray[np.bool_], *, rubber_always: bool) -> Figures:
    """All figures for the customer.

    allowed : (n, 5), what the hard rules leave open today
    rubber_always : rubber stems are replaced at every tire change to come
    """
    laws = _Laws(wheels)
    horizon = np.array([wheel.years_to_tire_change for wheel in wheels])
    kept = np.stack([laws.chance(part, laws.age[part], horizon) for part in PARTS], axis=-1)
    new = np.stack([laws.chance(part, np.zeros(len(wheels)), horizon) for part in PARTS], axis=-1)
    kept[_hopeless(wheels)[:, None, :].repeat(DRAWS, axis=1)] = 1.0
    price, loss = prices_now(wheels), losses(wheels)
    by_law = expected_costs(
        price[:, None, :], chance_kept=kept, chance_new=new, loss=loss[:, None, :]
    )
    best = np.where(allowed[:, None, :], by_law, np.inf).argmin(axis=-1)
    return Figures(
        price_now=price,
        expected=by_law.mean(axis=1),
        over_visits=_over_visits(wheels, price, loss, rubber_always=rubber_always),
        share=(best[:, :, None] == np.arange(len(ACTIONS))).mean(axis=1),
        fails_kept=kept.mean(axis=1),
        fails_new=new.mean(axis=1),
    )


class _Laws:
    """The laws of every wheel's parts, each family held once."""

    def __init__(self, wheels: Sequence[Wheel]) -> None:
        self.age = {p: np.array([getattr(w, p).age_years for w in wheels]) for p in PARTS}
        families = {id(d): d for w in wheels for d in (w.body.laws, w.stem.laws, w.seal.laws)}
        place = {key: row for row, key in enumerate(families)}
        self._row = {p: np.array([place[id(getattr(w, p).laws)] for w in wheels]) for p in PARTS}
        self._log_scale = np.stack([draws.log_scale for draws in families.values()])
        self._shape = np.stack([draws.shape for draws in families.values()])

    def chance(self, part: str, age: Array, horizon: Array) -> Array:
        """(n_wheels, laws) chance of failing within the horizon."""
        log_scale, shape = self._of(part)
        lived = _hazard(age, log_scale, shape)
        chance: Array = -np.expm1(lived - _hazard(age + horizon, log_scale, shape))
        return chance

    def means(self, part: str, ages: Array, step: int) -> Array:
        """Mean chance of failing between each age and the one so many columns on.

        ages : (n_wheels, n_ages); answers (n_wheels, n_ages − step)
        """
        log_scale, shape = self._of(part)
        lived = [_hazard(age, log_scale, shape) for age in ages.T]
        pairs = zip(lived, lived[step:], strict=False)
        return np.stack([-np.expm1(now - later).mean(axis=1) for now, later in pairs], axis=1)

    def _of(self, part: str) -> tuple[Array, Array]:
        order = np.arange(DRAWS) * _PAIRING[part] % DRAWS
        rows = self._row[part][:, None]
        return self._log_scale[rows, order], self._shape[rows, order]


def _hazard(age: Array, log_scale: Array, shape: Array) -> Array:
    with np.errstate(divide="ignore"):
        log_age = np.log(age)[:, None]
    hazard: Array = np.exp(np.minimum((log_age - log_scale) * shape, 700.0))
    return hazard


def _hopeless(wheels: Sequence[Wheel]) -> NDArray[np.bool_]:
    """(n, 3): what is dead or weak today and will not last, whatever its age says.

    A weak battery counting as a failure to come is an assumption.
    """
    found = [wheel.findings for wheel in wheels]
    return np.array([(f.has_no_use or f.is_weak, f.stem_is_bad, False) for f in found])


def prices_now(wheels: Sequence[Wheel]) -> Array:
    """(n, 5) cents: what each action adds to what the job sells anyway; 0 where not to be had."""
    return np.array([_amounts_now(wheel, wheel.prices) for wheel in wheels], dtype=np.float64)


def _amounts_now(wheel: Wheel, amounts: Amounts) -> list[float]:
    """Parts, the wheel taken apart (nothing when the tire is off anyway), the new sensor's work."""
    labour, parts = amounts.labour, amounts.parts
    opening = 0 if wheel.findings.tire_off else labour.dismount
    relearn = 0.0 if wheel.copied_id else labour.relearn / wheel.wheels_sharing
    sensor = opening + labour.prepare + relearn
    return [
        0,
        (parts.reseal or 0) + opening,
        (parts.body or 0) + sensor,
        (parts.stem or 0) + opening,
        (parts.whole or 0) + sensor,
    ]


def losses(wheels: Sequence[Wheel]) -> Array:
    """(n, 3) cents that a later failure of body, stem and seal costs: a return visit and a part."""
    return np.array([_losses(wheel, wheel.prices) for wheel in wheels], dtype=np.float64)


def _losses(wheel: Wheel, amounts: Amounts) -> list[int]:
    visit, parts = amounts.labour.return_visit, amounts.parts
    whole = parts.whole or 0
    if not wheel.sits_on_valve:
        # Its valve is a plain one, replaced with every tire and no part of the sensor.
        return [visit + whole, 0, 0]
    apart = not wheel.is_one_piece
    body = parts.body if apart and parts.body is not None else whole
    stem = parts.stem if apart and parts.stem is not None else whole
    # The seal of a snap-in is its stem.
    seal = 0 if wheel.is_snap_in else visit + (parts.reseal or 0)
    return [visit + body, visit + stem, seal]


def _over_visits(
    wheels: Sequence[Wheel], price: Array, loss: Array, *, rubber_always: bool
) -> Array:
    """(n, 5) cents over the visits left; wheels with as many visits left go together."""
    costs = np.zeros_like(price)
    visits = np.array([wheel.visits_left for wheel in wheels])
    later = np.array([_later_prices(wheel, rubber_always=rubber_always) for wheel in wheels])
    for count in sorted(set(visits.tolist())):
        rows = np.flatnonzero(visits == count)
        some = [wheel for wheel in wheels if wheel.visits_left == count]
        costs[rows] = _planned(some, price[rows], later[rows], loss[rows])
    return costs


def _later_prices(wheel: Wheel, *, rubber_always: bool) -> list[float]:
    """What the actions add at a coming tire change; inf where they cannot be done on this wheel."""
    labour, parts = wheel.prices.labour, wheel.prices.parts
    sensor = labour.prepare + labour.relearn / wheel.wheels_sharing
    apart = wheel.sits_on_valve and not wheel.is_one_piece
    stays = not (wheel.is_snap_in and rubber_always)
    reseal = (0 if wheel.is_snap_in else parts.reseal or 0) if stays else math.inf
    body = _or_never(parts.body, apart and stays) + sensor
    stem = _or_never(parts.stem, apart)
    whole = _or_never(parts.whole, possible=True) + sensor
    if math.inf == reseal == stem == whole:
        reseal = 0
    return [reseal, body, stem, whole]


def _or_never(cents: int | None, possible: bool) -> float:
    return cents if possible and cents is not None else math.inf


def _planned(wheels: Sequence[Wheel], price: Array, later: Array, loss: Array) -> Array:
    laws, visits = _Laws(wheels), wheels[0].visits_left
    horizon = np.array([wheel.years_to_tire_change for wheel in wheels])
    body, stem = (
        _ahead(laws, part, horizon, loss[:, column], visits)
        for column, part in enumerate(PARTS[:2])
    )
    hopeless = _hopeless(wheels)
    body.own[hopeless[:, 0], 0] = 1.0
    stem.own[hopeless[:, 1], 0] = 1.0
    opened = costs_over_visits(body, stem, later, visits=visits, today=price[:, 1:])
    # Leaving it differs from a new seal today by the price of the one and the age of the other.
    kept, new = (
        laws.chance("seal", age, horizon).mean(axis=1) * loss[:, 2]
        for age in (laws.age["seal"], np.zeros(len(wheels)))
    )
    left = opened[:, 0] - price[:, 1] + kept
    return np.column_stack([left, opened + new[:, None]])


def _ahead(laws: _Laws, part: str, horizon: Array, loss: Array, visits: int) -> PartAhead:
    own = laws.age[part][:, None] + horizon[:, None] * np.arange(visits + 1)
    halves = horizon[:, None] * half_stretches(visits + 1)
    return PartAhead(own=laws.means(part, own, 1), renewed=laws.means(part, halves, 2), loss=loss)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopFigures:
    """Per action, cents: what it earns today, and what our warranty is expected to cost."""

    margin_now: Array
    warranty: Array


def shop_figures(wheel: Wheel, costs: Amounts, policy: Policy) -> ShopFigures:
    """The shop's own table: failures inside our warranty, less what the supplier credits.

    A part fitted today is under our warranty from new; one left in place for what is left of it.
    """
    laws = _Laws([wheel])
    loss, parts = np.array(_losses(wheel, costs)), _part_costs(wheel, costs)
    kept, new = np.zeros(3), np.zeros(3)
    for column, name in enumerate(PARTS):
        part = getattr(wheel, name)
        terms = (part.age_years, part.our_years_left, part.supplier_years_left)
        kept[column] = _warranty(laws, name, *terms, loss[column], parts[column])
        terms = (0.0, policy.our_warranty_years, policy.supplier_warranty_years)
        new[column] = _warranty(laws, name, *terms, loss[column], parts[column])
    sold = np.array(_amounts_now(wheel, wheel.prices)) - np.array(_amounts_now(wheel, costs))
    warranty = np.where(MAKES_NEW, new, kept).sum(axis=1)
    return ShopFigures(margin_now=sold, warranty=warranty)


def _part_costs(wheel: Wheel, costs: Amounts) -> Array:
    """(3,) cents: the losses without the visit."""
    free = replace(costs, labour=replace(costs.labour, return_visit=0))
    return np.array(_losses(wheel, free), dtype=np.float64)


def _warranty(
    laws: _Laws, part: str, age: float, ours: float, supplier: float, loss: float, cost: float
) -> float:
    ages = np.array([age])
    fails, credited = (
        float(laws.chance(part, ages, np.array([years])).mean())
        for years in (ours, min(ours, supplier))
    )
    return fails * loss - credited * cost
