"""What specific parts that are out send on to the universal ones that stand in for them.

A first plan says how often a specific part is out; what it sends on goes to the first of its
universal parts that this plan keeps, or, where it keeps none, to the first of all, for which that
may be reason enough. What the specific part itself needs is not lowered by this.
"""

from dataclasses import dataclass

import numpy as np

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.fill_by_size import job_fill_by_size
from inventory.planning.overflow import overflow
from inventory.planning.policy import Policy
from inventory.planning.pooling import Streams, pooled
from inventory.reorder.inputs.facts import Floats, Ints, PlanInputs
from inventory.reorder.kept import part_of


@dataclass(frozen=True, slots=True, kw_only=True)
class SentOn:
    """
    rows : the universal parts that something is sent on to
    asked : what is asked of each of them in all, with what is sent on
    asks_per_day : what is sent on to each of them
    senders : the specific parts, and `sends_per_day` what each of them sends on
    """

    rows: Ints
    asked: Streams
    asks_per_day: Floats
    senders: Ints
    sends_per_day: Floats


def sent_on(
    facts: PlanInputs, demand: Demand, table: TableSizes, law: Ints, policy: Policy
) -> SentOn | None:
    """None where no universal part stands in for one that somebody asks for."""
    specific, universal = first_kept(facts, demand, policy)
    if not len(specific):
        return None
    fill = job_fill_by_size(
        part_of(demand, table, specific),
        facts.interval,
        reorder_point=policy.reorder_point[specific],
        order_quantity=policy.order_quantity[specific],
        largest=table.pmf.shape[1] - 1,
        law=law[specific],
    )
    # What is bought when asked is never there, whatever its order quantity would leave over.
    fill[policy.reorder_point[specific] < 0] = 0
    share = facts.stand_ins.share
    sent = overflow(streams_of(demand, table, specific), fill_by_size=fill, share=share)
    rows, shelf = np.unique(universal, return_inverse=True)
    own = streams_of(demand, table, rows)
    both = Streams(
        asks_per_day=np.concatenate([own.asks_per_day, sent.asks_per_day]),
        rate_variance=np.concatenate([own.rate_variance, sent.rate_variance]),
        sizes=np.concatenate([own.sizes, sent.sizes]),
    )
    to = np.concatenate([np.arange(len(rows)), shelf])
    a_day = np.bincount(shelf, weights=sent.asks_per_day, minlength=len(rows))
    return SentOn(
        rows=rows,
        asked=pooled(both, to, shelves=len(rows)),
        asks_per_day=a_day.astype(np.float64),
        senders=specific,
        sends_per_day=sent.asks_per_day,
    )


def first_kept(facts: PlanInputs, demand: Demand, policy: Policy) -> tuple[Ints, Ints]:
    """Each specific part that somebody asks for, and the one universal part it sends on to."""
    pairs = facts.stand_ins
    lives = ~facts.superseded[pairs.universal] & (demand.asks_per_day[pairs.specific] > 0)
    specific, universal = pairs.specific[lives], pairs.universal[lives]
    kept = policy.reorder_point[universal] >= 0
    order = np.lexsort((np.arange(len(specific)), ~kept, specific))
    found, first = np.unique(specific[order], return_index=True)
    return found, universal[order][first]


def streams_of(demand: Demand, table: TableSizes, rows: Ints) -> Streams:
    rate = demand.asks_per_day[rows]
    return Streams(
        asks_per_day=rate,
        rate_variance=rate**2 / demand.rate_shape[rows],
        sizes=table.pmf[table.table[rows]],
    )


def with_sent_on(demand: Demand, table: TableSizes, sent: SentOn) -> tuple[Demand, TableSizes]:
    """The demand of all parts, that of the universal ones with what is sent on to them."""
    rate, shape = demand.asks_per_day.copy(), demand.rate_shape.copy()
    rate[sent.rows], shape[sent.rows] = sent.asked.asks_per_day, sent.asked.rate_shape
    sizes = table.pmf[table.table]
    sizes[sent.rows] = sent.asked.sizes
    mixed = TableSizes(pmf=sizes, table=np.arange(len(sizes)))
    return Demand(asks_per_day=rate, rate_shape=shape, sizes=mixed), mixed
