"""Asks of the demo shop's last year for parts with thin history: told by usage, and by vehicles.

The ranked probability score sums, over all counts, the squared distance between the chance foretold
of at most so many asks and whether there were at most so many; less is better (Epstein 1969, A
scoring system for probability forecasts of ranked categories, J. Appl. Meteorol. 8).

What the vehicles' part of it was tuned by was tuned on the demo's years before its last one.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from tests.bench.row import Row

HALF_YEAR = 182
Floats = NDArray[np.float64]


class UndoError(Exception):
    """Everything that was done for a measurement is undone."""


def ranked_probability_score(
    shape: Floats, exposure_days: Floats, horizon: int, seen: Floats
) -> Floats:
    counts = np.arange(200)
    never = exposure_days / (exposure_days + horizon)
    chance = stats.nbinom.cdf(counts, shape[:, None], never[:, None])
    return np.asarray(((chance - (counts >= seen[:, None])) ** 2).sum(axis=1))


def forget_lives_after(day: date) -> None:
    """The lives of bodies and stems as they were known on a day."""
    from jobs.review.inputs.in_use import vehicles_seen
    from jobs.workshop.models import Fitted

    later = Fitted.objects.filter(first_seen_on__gt=day)
    Fitted.objects.filter(continues__in=later).update(continues=None)
    Fitted.objects.filter(joined_with__in=later).update(joined_with=None)
    later.delete()
    ended = Fitted.objects.filter(ended_on__gt=day)
    ended.update(ended_on=None, end_reason="", ended_by_job=None)
    seen, looked_at = vehicles_seen(day), []
    for piece in Fitted.objects.filter(last_good_on__gt=day).select_related("wheel"):
        last = seen.get(piece.wheel.vehicle_id)
        piece.last_good_on = max(piece.first_seen_on, last.on if last else piece.first_seen_on)
        looked_at.append(piece)
    Fitted.objects.bulk_update(looked_at, ["last_good_on"], batch_size=500)


def scores(day: date) -> tuple[Floats, Floats]:
    """By thin part-site that some vehicle needs: the score of usage alone, and with vehicles."""
    from inventory.reorder.figures import THIN_ASKS, learned_usage
    from inventory.reorder.inputs import plan_inputs
    from inventory.reorder.inputs.facts import WEEKS
    from jobs.review.expected import write_expected

    forget_lives_after(day)
    write_expected(day)
    facts = plan_inputs(day)
    history = facts.history
    later = plan_inputs(day + timedelta(days=HALF_YEAR))
    came = np.zeros(len(facts.rows.part))
    known = np.isin(facts.rows.code, later.rows.code)
    row = later.rows.of(facts.rows.part[known], facts.rows.site[known])
    came[known] = later.history.occasions[row, WEEKS - HALF_YEAR // 7 :].sum(axis=1)
    thin = (history.occasions.sum(axis=1) < THIN_ASKS) & (history.expected_mean > 0)
    found = []
    for mean in (np.zeros_like(history.expected_mean), history.expected_mean):
        learned, _ = learned_usage(replace(history, expected_mean=mean))
        rate = learned.rate
        score = ranked_probability_score(rate.shape, rate.exposure_days, HALF_YEAR, came)
        found.append(score[thin])
    return found[0], found[1]


def last_year() -> tuple[list[Floats], list[Floats]]:
    """The scores of usage alone and with vehicles, for each half of the loaded demo's last year."""
    from django.db import transaction

    from inventory.ledger.models import Ask

    usage, vehicles = [], []
    last = Ask.objects.latest("day").day
    for weeks_back in (52, 26):
        try:
            with transaction.atomic():
                alone, together = scores(last - timedelta(weeks=weeks_back))
                usage.append(alone)
                vehicles.append(together)
                raise UndoError
        except UndoError:
            pass
    return usage, vehicles


def rows() -> Iterator[Row]:
    from django.core.management import call_command

    call_command("demo_shop", verbosity=0)
    usage, vehicles = last_year()
    alone, together = np.concatenate(usage), np.concatenate(vehicles)
    yield Row(
        work="foretelling asks for parts with fewer than 6, usage and vehicles together",
        against="the ranked probability score of usage alone",
        ratio=float(together.mean() / alone.mean()),
        goal=1.0,
        words=f"{together.mean():.4f} against {alone.mean():.4f} over two half-years and "
        f"{len(alone)} part-sites; halves "
        + ", ".join(f"{b.mean() / a.mean():.3f}" for a, b in zip(usage, vehicles, strict=True))
        + ".",
    )
