"""What the vehicles lead us to expect, written down anew before a plan reads it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.reorder.models import ExpectedAsk

ROWS_AT_A_TIME = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class AsksExpected:
    """Asks for a part at a site, week by week, and the variance of their sum."""

    part: int
    site: int
    mean: Sequence[float]
    variance: float


@transaction.atomic
def expect_asks(expected: Sequence[AsksExpected], *, by_week_from: date) -> int:
    """Replace all that was expected before; weeks begin with the one of the day. Rows written.

    The weeks of a part rise and fall together, so that their variances do not simply add up: each
    week carries the share of the whole variance that it has of the whole mean.
    """
    monday = by_week_from - timedelta(days=by_week_from.weekday())
    rows = [row for one in expected for row in _rows(one, monday)]
    ExpectedAsk.objects.all().delete()
    ExpectedAsk.objects.bulk_create(rows, batch_size=ROWS_AT_A_TIME)
    return len(rows)


def _rows(one: AsksExpected, monday: date) -> list[ExpectedAsk]:
    whole = sum(one.mean)
    if one.variance < 0 or min(one.mean, default=0) < 0:
        raise ValidationError(
            f"Expected asks and their variance are 0 or more; got {min(one.mean):g} and "
            f"{one.variance:g} for part {one.part}: look at the lives it was computed from."
        )
    return [
        ExpectedAsk(
            part_id=one.part,
            site_id=one.site,
            week=monday + timedelta(weeks=number),
            mean=mean,
            variance=one.variance * mean / whole,
        )
        for number, mean in enumerate(one.mean)
        if mean > 0
    ]
