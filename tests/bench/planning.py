"""Reorder points of 100,000 part-sites from 156 weeks, against a forecast of the same series."""

from collections.abc import Iterator

import numpy as np

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval
from inventory.planning.policy import reorder_point
from inventory.planning.usage import usage
from tests.bench.row import Row, peak_mb, seconds

PART_SITES, WEEKS = 100_000, 156
SIZES = [0, 0.7, 0.1, 0, 0.2]


def history() -> np.ndarray:
    rng = np.random.default_rng(11)
    rates = rng.gamma(0.4, 0.5, PART_SITES)
    return rng.poisson(rates[:, None], (PART_SITES, WEEKS)).astype(np.float64)


def plan(asks: np.ndarray) -> None:
    groups = np.arange(PART_SITES) % 8
    learned = usage(asks, np.full(WEEKS, 7.0), group=groups)
    demand = Demand.of(
        learned.rate.mean_rate,
        TableSizes.of(SIZES, table=np.zeros(PART_SITES, dtype=np.int64)),
        rate_shape=learned.rate.shape,
    )
    waits = Interval.from_days({"1": 0.5, "2": 0.3, "5": 0.2}, review_days=1.4)
    reorder_point(demand, waits, order_quantity=1, target=0.95, measure="job_fill")


def forecast(frame: object) -> None:
    from statsforecast import StatsForecast
    from statsforecast.models import CrostonSBA

    StatsForecast(models=[CrostonSBA()], freq=1, n_jobs=1).forecast(df=frame, h=1)


def as_frame(asks: np.ndarray) -> object:
    import pandas as pd

    return pd.DataFrame(
        {
            "unique_id": np.repeat(np.arange(PART_SITES), WEEKS),
            "ds": np.tile(np.arange(WEEKS), PART_SITES),
            "y": asks.ravel(),
        }
    )


def rows() -> Iterator[Row]:
    asks = history()
    ours = seconds(lambda: plan(asks))
    peak = peak_mb()
    frame = as_frame(asks)
    theirs = seconds(lambda: forecast(frame), repeat=2)
    yield Row(
        work=f"planning {PART_SITES:,} part-sites from {WEEKS} weeks",
        against="a CrostonSBA forecast of the same series",
        ratio=ours / theirs,
        goal=1.0,
        words=f"ours {ours:.2f} s, theirs {theirs:.2f} s, peak {peak:.0f} MB before the frame.",
    )
