"""A shop played event by event: what the exact formulas must agree with."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    unit_fill: float
    job_fill: float
    ready_rate: float
    mean_on_hand: float


def play(
    rng: np.random.Generator,
    *,
    rate: float,
    sizes: list[float],
    lead_days: list[float],
    lead_chances: list[float],
    reorder_point: int,
    order_quantity: int,
    review_days: float,
    days: float,
) -> Played:
    """Asks at random, orders at looks (or at once), deliveries in the order they were placed."""
    now = last_due = 0.0
    net, coming = reorder_point + order_quantity, 0
    due: list[tuple[float, int]] = []
    served = asked = whole = jobs = 0
    ready = stock = 0.0
    next_ask = rng.exponential(1 / rate)
    next_look = review_days or np.inf
    while now < days:
        then = min(next_ask, next_look, due[0][0] if due else np.inf)
        ready += (then - now) * (net > 0)
        stock += (then - now) * max(net, 0)
        now = then
        if due and now == due[0][0]:
            arrived = due.pop(0)[1]
            net, coming = net + arrived, coming - arrived
        elif now == next_look:
            next_look += review_days
        else:
            size = int(rng.choice(len(sizes), p=sizes))
            at_once = min(size, max(net, 0))
            served, asked = served + at_once, asked + size
            whole, jobs = whole + (at_once == size), jobs + 1
            net -= size
            next_ask = now + rng.exponential(1 / rate)
        looking = review_days == 0 or (next_look - review_days) == now
        if looking and net + coming <= reorder_point:
            packs = -(-(reorder_point + 1 - net - coming) // order_quantity)
            last_due = max(last_due, now + rng.choice(lead_days, p=lead_chances))
            due.append((last_due, packs * order_quantity))
            coming += packs * order_quantity
    return Played(
        unit_fill=served / asked,
        job_fill=whole / jobs,
        ready_rate=ready / now,
        mean_on_hand=stock / now,
    )
