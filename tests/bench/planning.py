"""Reorder points of 100,000 part-sites from 156 weeks, against a forecast of the same series."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.lead_time import (
    lead_time_chances,
    order_day_wait_chances,
    order_interval,
)
from inventory.planning.order_size import order_size
from inventory.planning.policy import Policy, reorder_point
from inventory.planning.usage import size_chances, usage
from tests.bench.row import Row, peak_mb, seconds

FloatArray = NDArray[np.float64]
PART_SITES, WEEKS = 100_000, 156
WORKING_DAYS = [True] * 5 + [False] * 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What the ledger would hand over: asks by week, asks by size, deliveries of 40 suppliers."""

    asks: FloatArray
    asks_by_size: FloatArray
    deliveries: FloatArray
    supplier: NDArray[np.int64]
    unit_cost: FloatArray


def history(part_sites: int = PART_SITES) -> Past:
    rng = np.random.default_rng(11)
    rates = rng.gamma(0.4, 0.5, part_sites)
    asks = rng.poisson(rates[:, None], (part_sites, WEEKS)).astype(np.float64)
    sizes = rng.multinomial(asks.sum(axis=1).astype(int), [0, 0.6, 0.15, 0.05, 0.2])
    return Past(
        asks=asks,
        asks_by_size=sizes.astype(np.float64),
        deliveries=rng.poisson([0, 8, 6, 2, 1, 0.5], (40, 6)).astype(np.float64),
        supplier=rng.integers(0, 40, part_sites),
        unit_cost=rng.uniform(2, 60, (part_sites, 1)),
    )


def plan(past: Past) -> Policy:
    """Usage, sizes, lead times, order quantities with a price break, exact reorder points."""
    kind = np.arange(len(past.asks)) % 8
    learned = usage(past.asks, np.full(WEEKS, 7.0), group=kind)
    demand = Demand.of(
        learned.rate.mean_rate,
        TableSizes.of(size_chances(past.asks_by_size, kind=kind)),
        rate_shape=learned.rate.shape,
    )
    lead = lead_time_chances(past.deliveries, stated_days=np.full(40, 2))
    wait = order_day_wait_chances(np.tile(WORKING_DAYS, (40, 1)))
    size = order_size(
        fixed_cost=2.0,
        holding_rate=0.25,
        demand_per_year=demand.pieces_per_day * 365,
        from_quantity=[0, 12],
        unit_cost=past.unit_cost * [1.0, 0.95],
    )
    return reorder_point(
        demand,
        order_interval(lead, wait),
        order_quantity=size.quantity,
        target=0.95,
        law=past.supplier,
    )


def forecast(frame: object) -> None:
    from statsforecast import StatsForecast
    from statsforecast.models import CrostonSBA

    StatsForecast(models=[CrostonSBA()], freq=1, n_jobs=1).forecast(df=frame, h=1)


def as_frame(asks: FloatArray) -> object:
    import pandas as pd

    return pd.DataFrame(
        {
            "unique_id": np.repeat(np.arange(PART_SITES), WEEKS),
            "ds": np.tile(np.arange(WEEKS), PART_SITES),
            "y": asks.ravel(),
        }
    )


def rows() -> Iterator[Row]:
    past = history()
    ours = seconds(lambda: plan(past))
    peak = peak_mb()
    frame = as_frame(past.asks)
    theirs = seconds(lambda: forecast(frame), repeat=2)
    tenth = history(PART_SITES // 10)
    shorter = seconds(lambda: plan(tenth))
    yield Row(
        work=f"planning {PART_SITES:,} part-sites from {WEEKS} weeks",
        against="a CrostonSBA forecast of the same series",
        ratio=ours / theirs,
        goal=1.0,
        words=f"ours {ours:.2f} s, theirs {theirs:.2f} s, peak {peak:.0f} MB before the frame; "
        f"a tenth of the part-sites take {shorter:.2f} s.",
    )
