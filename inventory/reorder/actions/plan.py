"""One run of the plan: facts read, figures computed, every line written down with its reasons."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np
from django.db import transaction
from django.utils import timezone

from inventory.planning.interval import Interval
from inventory.reorder.aims import CLASS_WORDS, Aims
from inventory.reorder.figures import PlanFigures, kind_seasons, leans_on_vehicles, plan_figures
from inventory.reorder.inputs import plan_inputs
from inventory.reorder.inputs.facts import History, PlanInputs
from inventory.reorder.inputs.job_needs import read_job_needs, read_recipes
from inventory.reorder.job_fill import job_fill
from inventory.reorder.models import PlanLine, PlanRun, PlanStatus
from inventory.shop.amounts import count_text

LINES_AT_A_TIME = 2_000
RUNS_KEPT = 90

NOBODY_OFFERS = "No supplier offers it today; add an offer."
NEVER_ASKED = "Nobody asked for it yet; it is bought when asked."
NOT_WORTH_KEEPING = "Keeping it costs more than it saves; it is bought when asked."
OWN_GOAL = "Its own goal: {what}."


def run_plan(*, as_of: date, by: Any) -> PlanRun:
    """Plan all parts at all sites; a run that fails says so and leaves no lines."""
    run = PlanRun.objects.create(as_of=as_of, by=by, status=PlanStatus.RUNNING)
    try:
        with transaction.atomic():
            facts = plan_inputs(as_of)
            if len(facts.rows.part):
                figures = plan_figures(facts)
                _write(run, facts, list(_lines(run, facts, figures)), _jobs(facts, figures))
            else:
                # Without stock, orders or asks there are no arrays to compute with.
                _write(run, facts, [], {})
    except Exception:
        run.words = "The plan could not be made; the log says why. Plan again once that is mended."
        _finish(run, PlanStatus.FAILED)
        raise
    return run


def _jobs(facts: PlanInputs, figures: PlanFigures) -> dict[str, Any]:
    return job_fill(facts, figures, read_job_needs(facts.as_of), read_recipes())


def _write(run: PlanRun, facts: PlanInputs, lines: list[PlanLine], jobs: dict[str, Any]) -> None:
    PlanLine.objects.bulk_create(lines, batch_size=LINES_AT_A_TIME)
    to_order = [line for line in lines if line.suggested_packs]
    suppliers = {line.supplier_id for line in to_order} - {None}
    sites = {line.site_id for line in lines}
    run.words = (
        f"{count_text(len(lines), 'shelf', 'shelves')} at {count_text(len(sites), 'site')} "
        f"looked at, {count_text(len(to_order), 'line')} to order "
        f"from {count_text(len(suppliers), 'supplier')}."
    )
    run.figures = {
        "laws": _laws(facts),
        "holding_rate": facts.worth.holding_rate,
        "seasons": _seasons(facts.history),
        "whole_jobs": jobs,
    }
    _finish(run, PlanStatus.DONE)
    old = PlanRun.objects.finished().values_list("pk", flat=True)[RUNS_KEPT:]
    PlanRun.objects.filter(pk__in=list(old)).delete()


def _finish(run: PlanRun, status: PlanStatus) -> None:
    run.status, run.finished_at = status, timezone.now()
    run.save()


def _laws(facts: PlanInputs) -> dict[str, Any]:
    """The law of lead times of each supplier; the last is for parts that nobody offers."""
    suppliers = [*facts.supplier.tolist(), None]
    return {
        str(supplier): {
            "days": _chances(facts.interval, row),
            "review_days": float(facts.interval.review_days[row]),
        }
        for row, supplier in enumerate(suppliers)
    }


def _seasons(history: History) -> dict[str, Any]:
    """By kind of part, the weights of the weeks of the year and the asks behind them."""
    asks = np.bincount(history.kind, weights=history.occasions.sum(axis=1))
    return {
        history.kinds[kind]: {"weights": weights, "asks": int(asks[kind])}
        for kind, weights in enumerate(np.round(kind_seasons(history), 4).tolist())
        if kind < len(asks) and asks[kind]
    }


def _chances(interval: Interval, row: int) -> dict[str, float]:
    pairs = zip(interval.lead_time_days[row], interval.chance[row], strict=True)
    return {f"{days:g}": round(float(chance), 9) for days, chance in pairs if chance > 1e-9}


def _lines(run: PlanRun, facts: PlanInputs, figures: PlanFigures) -> Iterator[PlanLine]:
    suppliers: list[int | None] = [*facts.supplier.tolist(), None]
    policy, packs = figures.policy, figures.packs
    sizes = _size_words(figures.sizes)
    words = _words(facts, figures)
    prices = _pack_prices(facts, figures)
    targets = [None if np.isnan(share) else share for share in figures.aims.target.tolist()]
    aimed = _aimed(facts, figures.aims)
    columns = {
        "part_id": facts.rows.part,
        "site_id": facts.rows.site,
        "on_hand": facts.stock.on_hand,
        "on_order": facts.stock.on_order,
        "held": facts.stock.held,
        "owed": facts.stock.owed,
        "asks": figures.asks_per_week,
        "size_mean": figures.size_mean,
        "lead_days": figures.lead_days,
        "reorder_point": policy.reorder_point,
        "order_quantity": policy.order_quantity,
        "job_fill": policy.job_fill,
        "unit_fill": policy.unit_fill,
        "ready_rate": policy.ready_rate,
        "mean_on_hand": policy.mean_on_hand,
        "pack": figures.pack,
        "suggested_packs": packs,
    }
    behind = {
        "asks_seen": facts.history.occasions.sum(axis=1),
        "season": figures.season,
        "rate_shape": figures.rate_shape,
        "unit_cents": figures.unit_cost_cents,
        "keeping_cents": figures.keeping_cents,
        "serving_cents": figures.serving_cents,
        "older": facts.stock.older,
        "expected": np.where(leans_on_vehicles(facts.history), facts.history.expected_mean, 0.0),
        "sent_on": figures.sent_per_week,
        "sends_on": figures.sends_per_week,
        "superseded": facts.superseded,
    }
    rows = zip(*(column.tolist() for column in columns.values()), strict=True)
    reasons = zip(*(column.tolist() for column in behind.values()), strict=True)
    for row, reason in enumerate(zip(rows, reasons, strict=True)):
        values, told = reason
        yield PlanLine(
            run=run,
            supplier_id=suppliers[figures.law[row]],
            words=words[row],
            target=targets[row],
            pack_price_cents=prices[row],
            figures=dict(zip(behind, told, strict=True)) | {"sizes": sizes[row]} | aimed[row],
            **dict(zip(columns, values, strict=True)),
        )


def _words(facts: PlanInputs, figures: PlanFigures) -> list[str]:
    """What a person should know about a line before anything else; most need nothing."""
    nobody = figures.law == len(facts.supplier)
    asked = facts.history.occasions.any(axis=1)
    on_demand = figures.policy.reorder_point < 0
    told = np.select(
        [nobody, on_demand & ~asked, on_demand],
        [NOBODY_OFFERS, NEVER_ASKED, NOT_WORTH_KEEPING],
        default="",
    ).tolist()
    for row, goal in facts.goals.told.items():
        if not nobody[row]:
            told[row] = OWN_GOAL.format(what=goal["what"])
    return [note or words for note, words in zip(facts.notes, told, strict=True)]


def _aimed(facts: PlanInputs, aims: Aims) -> list[dict[str, Any]]:
    """What a line keeps of where its target comes from; nothing where it is the shop's one."""
    told: list[dict[str, Any]] = [{} for _ in facts.rows.part]
    for row in np.flatnonzero(aims.number >= 0).tolist():
        told[row]["class"] = {
            "name": CLASS_WORDS[aims.number[row]],
            "share": round(float(aims.share[row]), 6),
            "margin_cents": round(float(aims.margin_cents[row])),
        }
    for row in np.flatnonzero(aims.cheapest).tolist():
        told[row]["miss_cents"] = round(float(aims.miss_cents[row]))
    for row, goal in facts.goals.told.items():
        told[row]["goal"] = goal
    return told


def _pack_prices(facts: PlanInputs, figures: PlanFigures) -> list[int | None]:
    """The price of a pack in the quantity suggested; None where nobody asks a price."""
    offers = facts.offers
    pieces = np.maximum(figures.packs * figures.pack, figures.policy.order_quantity)
    reached = offers.from_pieces[figures.offer] <= pieces[:, None]
    level = np.maximum(reached.sum(axis=1) - 1, 0)
    cents = offers.unit_cents[figures.offer, level] * figures.pack
    nobody = figures.law == len(facts.supplier)
    return [
        None if none else round(price) for price, none in zip(cents.tolist(), nobody, strict=True)
    ]


def _size_words(sizes: Any) -> list[dict[str, float]]:
    """Chances of the sizes worth telling; most parts share the law of their kind."""
    told: dict[bytes, dict[str, float]] = {}
    found = []
    for law in np.round(sizes, 4):
        key = law.tobytes()
        if key not in told:
            told[key] = {str(n): float(law[n]) for n in np.flatnonzero(law)}
        found.append(told[key])
    return found
