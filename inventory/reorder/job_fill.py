"""In how many jobs everything is there, by the reorder points of a plan, and what they wait for.

A part may be there itself, be put together from its pieces, come out of a whole that is taken
apart, or be stood in for by a universal one. What is bought when asked is never there.
"""

from collections import defaultdict
from typing import Any

import numpy as np

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.fill_by_size import job_fill_by_size
from inventory.planning.whole_jobs import WholeJobFill, there_or_replaced, whole_job_fill
from inventory.reorder.figures import PlanFigures
from inventory.reorder.inputs.facts import Floats, Ints, PlanInputs, coded
from inventory.reorder.inputs.job_needs import JobNeeds

WAITS_KEPT, COMMON_KEPT = 25, 12
# A part that makes fewer jobs a year wait is not worth a row.
LEAST_WAITING = 0.05

Way = list[tuple[int, int]]
"""Parts and their pieces, all of them needed."""


def job_fill(
    facts: PlanInputs, figures: PlanFigures, needs: JobNeeds, recipes: Ints
) -> dict[str, Any]:
    """By site, what a plan keeps of its whole jobs."""
    site = needs.jobs[needs.needs[:, 0], 0]
    each = np.column_stack([needs.needs[:, 1], site, needs.needs[:, 2]])
    wants, want = np.unique(each, axis=0, return_inverse=True)
    ways = ways_of(facts, wants, recipes)
    itself, there = chance_there(facts, figures, wants, ways)[:, want.ravel()]
    job, jobs = needs.needs[:, 0], len(needs.jobs)
    as_asked = whole_job_fill(itself, job=job, jobs=jobs).fill
    found = whole_job_fill(there, job=job, jobs=jobs)
    return {
        str(pk): {"asks": asks_filled(facts, figures, pk)} | told(pk, needs, there, found, as_asked)
        for pk in np.unique(needs.jobs[:, 0]).tolist()
    }


def asks_filled(facts: PlanInputs, figures: PlanFigures, site: int) -> float:
    """The share of a site's asks filled from the shelf; one sent on is still one ask."""
    here = facts.rows.site == site
    asks, kept = figures.asks_per_week, figures.policy.reorder_point >= 0
    filled = (asks * figures.policy.job_fill * kept)[here].sum()
    wanted = (asks - figures.sent_per_week)[here].sum()
    return float(filled / wanted) if wanted else 0.0


def ways_of(facts: PlanInputs, wants: Ints, recipes: Ints) -> list[tuple[int, Way]]:
    """For each want, other ways to have it at its site."""
    pieces_of: dict[int, Way] = defaultdict(list)
    wholes_of: dict[int, Way] = defaultdict(list)
    for whole, piece, count in recipes.tolist():
        pieces_of[whole].append((piece, count))
        wholes_of[piece].append((whole, count))
    universal = universals(facts)
    found: list[tuple[int, Way]] = []
    for want, (part, site, pieces) in enumerate(wants.tolist()):
        ways = [[(other, pieces)] for other in universal.get((part, site), ())]
        ways += [[(whole, -(-pieces // count))] for whole, count in wholes_of.get(part, ())]
        if part in pieces_of:
            ways.append([(piece, count * pieces) for piece, count in pieces_of[part]])
        found += [(want, way) for way in ways]
    return found


def universals(facts: PlanInputs) -> dict[tuple[int, int], list[int]]:
    part, site = facts.rows.part, facts.rows.site
    found: dict[tuple[int, int], list[int]] = defaultdict(list)
    pairs = facts.stand_ins
    for specific, universal in zip(pairs.specific.tolist(), pairs.universal.tolist(), strict=True):
        found[int(part[specific]), int(site[specific])].append(int(part[universal]))
    return found


def chance_there(
    facts: PlanInputs, figures: PlanFigures, wants: Ints, ways: list[tuple[int, Way]]
) -> Floats:
    """(2, n): the chance that each want is met by the part itself, and by it or another way."""
    site = wants[:, 1]
    members = [
        (n, part, site[want], pieces) for n, (want, way) in enumerate(ways) for part, pieces in way
    ]
    member = np.array(members, dtype=np.int64).reshape(-1, 4)
    all_wanted = np.concatenate([wants, member[:, 1:]])
    alone = chance_on_shelf(facts, figures, *all_wanted.T)
    instead = np.ones(len(ways))
    np.multiply.at(instead, member[:, 0], alone[len(wants) :])
    served = np.array([want for want, _ in ways], dtype=np.int64)
    itself = alone[: len(wants)]
    return np.stack([itself, there_or_replaced(itself, instead_of=served, instead_there=instead)])


def chance_on_shelf(
    facts: PlanInputs, figures: PlanFigures, part: Ints, site: Ints, pieces: Ints
) -> Floats:
    chance = np.zeros(len(part))
    inside = np.flatnonzero(np.isin(coded(part, site), facts.rows.code))
    row = facts.rows.of(part[inside], site[inside])
    kept = figures.policy.reorder_point[row] >= 0
    rows, at = np.unique(row[kept], return_inverse=True)
    if not len(rows):
        return chance
    wanted = pieces[inside[kept]]
    demand = Demand.of(
        figures.asks_per_week[rows] / 7,
        TableSizes.of(figures.sizes[rows]),
        rate_shape=figures.rate_shape[rows],
    )
    fill = job_fill_by_size(
        demand,
        facts.interval,
        reorder_point=figures.policy.reorder_point[rows],
        order_quantity=figures.policy.order_quantity[rows],
        largest=int(wanted.max()),
        law=figures.law[rows],
    )
    chance[inside[kept]] = fill[at, wanted]
    return chance


def told(
    site: int, needs: JobNeeds, there: Floats, found: WholeJobFill, as_asked: Floats
) -> dict[str, Any]:
    """The figures of one site's jobs: all of them, and those of which every part is kept."""
    times = np.where(needs.jobs[:, 0] == site, needs.jobs[:, 1], 0)
    pattern = needs.needs[:, 0]
    kept = np.ones(len(times), dtype=np.bool_)
    kept[pattern[there <= 0]] = False
    return {
        "jobs": int(times.sum()),
        "fill": float(times @ found.fill / times.sum()),
        "as_asked": float(times @ as_asked / times.sum()),
        "kept_jobs": int(times[kept].sum()),
        "kept_fill": float(times[kept] @ found.fill[kept] / max(1, times[kept].sum())),
        "waits": waits(times[pattern], needs.needs[:, 1], found.waits_only_for),
        "common": common(times, needs, found.fill),
    }


def waits(times: Ints, part: Ints, alone: Floats) -> list[list[Any]]:
    """Parts, the jobs a year that need them, and those that wait for nothing else; worst first."""
    parts, at = np.unique(part, return_inverse=True)
    jobs = np.bincount(at, weights=times, minlength=len(parts))
    waiting = np.bincount(at, weights=times * alone, minlength=len(parts))
    worst = np.argsort(-waiting, kind="stable")[:WAITS_KEPT]
    return [
        [int(parts[n]), int(jobs[n]), round(float(waiting[n]), 3)]
        for n in worst[waiting[worst] >= LEAST_WAITING].tolist()
    ]


def common(times: Ints, needs: JobNeeds, fill: Floats) -> list[list[Any]]:
    """The jobs that came most often: how often, their fill, and what they need."""
    most = np.argsort(-times, kind="stable")[:COMMON_KEPT]
    found = []
    for row in most[times[most] > 0].tolist():
        parts = needs.needs[needs.needs[:, 0] == row, 1:]
        found.append([int(times[row]), round(float(fill[row]), 4), parts.tolist()])
    return found
