"""What each part-site is planned to: the shop's one target, its class's, the cheapest, or its own.

How many that takes, and whether the part is kept at all, is `kept`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.planning.classes import classes
from inventory.planning.demand import Demand
from inventory.reorder.inputs.facts import DAYS_A_YEAR, Floats, Ints, PlanInputs
from inventory.shop.models import ShelfGoal

CLASS_WORDS = "ABC"


@dataclass(frozen=True, slots=True, kw_only=True)
class Aims:
    """Arrays with one entry a part-site.

    target : share of jobs to be served from the shelf; NaN where none is aimed at
    cheapest : planned to whatever costs least
    number : the part's class at its site, 0 for A; -1 where parts are not planned by class
    share : of the margin of all parts of the site
    margin_cents : what the part earns in a year
    miss_cents : what an ask of the usual size costs that finds none of it
    """

    target: Floats
    cheapest: NDArray[np.bool_]
    number: Ints
    share: Floats
    margin_cents: Floats
    miss_cents: Floats


def aims_of(facts: PlanInputs, demand: Demand, unit_cents: Floats) -> Aims:
    goals, worth, n = facts.goals, facts.worth, len(facts.rows.part)
    margin = worth.margin_cents * demand.pieces_per_day * DAYS_A_YEAR
    target, cheapest = np.full(n, goals.target), np.zeros(n, dtype=np.bool_)
    number, share = np.full(n, -1), np.zeros(n)
    own = ~np.isnan(goals.own_target)
    if goals.shelf == ShelfGoal.BY_CLASS:
        found = classes(margin, group=facts.rows.site)
        number, share = found.number, found.share
        target = np.array(goals.class_targets)[number]
    elif goals.shelf == ShelfGoal.CHEAPEST:
        # What costs nothing to hold has no cheapest number: it keeps the shop's target.
        cheapest = (unit_cents > 0) & ~own & ~goals.when_asked
        target = np.where(cheapest, np.nan, target)
    target = np.where(own, goals.own_target, target)
    return Aims(
        target=np.where(goals.when_asked, np.nan, target),
        cheapest=cheapest,
        number=number,
        share=share,
        margin_cents=margin,
        miss_cents=demand.sizes.mean * (worth.lost_cents + worth.rush_cents) + worth.delay_cents,
    )
