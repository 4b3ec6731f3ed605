"""Rows as a workbook brings them, what a refused one says, and what is left of it all."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.actions import (
    MovementRow,
    RefusedRowError,
    record_postings,
)
from inventory.ledger.models import Lot, Movement, Posting

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
LATER = NOON + timedelta(days=1)


def rows_of(kit, site):
    """Makes rows of the kit at the site; they happen a minute apart unless told."""
    made = iter(range(1, 1000))

    def make(kind, pieces, *, part=kit, at=None, **facts):
        index = next(made)
        moment = at or NOON + timedelta(minutes=index)
        plain = {
            "index": index, "key": f"r{index}", "kind": kind, "happened_at": moment,
            "recorded_at": moment, "part_id": part.pk, "site_id": site.pk, "pieces": pieces,
        }  # fmt: skip
        return MovementRow(**plain | facts)

    return make


def counts():
    return Posting.objects.count(), Lot.objects.count(), Movement.objects.count()


def refusal_of(*rows):
    before = counts()
    with pytest.raises(ValidationError) as refused:
        record_postings(rows)
    assert counts() == before
    assert isinstance(refused.value, RefusedRowError)
    return refused.value.index, refused.value.sentence


def lots_of(part, site):
    lots = Lot.objects.filter(shelf__part=part, shelf__site=site).order_by("pk")
    return list(lots.values_list("condition", "pieces_left", "cents_left", "made_on"))
