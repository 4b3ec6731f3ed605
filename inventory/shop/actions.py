"""The log of who changed what. Never the name or phone of a keeper."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import models

from inventory.shop.models import Change

Replaced = tuple[models.Model, str, Mapping[str, Any], Mapping[str, Any]]
"""A record, what it is in words, and its values before (none: it is new) and after."""


def record_changes(changes: Iterable[Replaced], *, by: Any) -> None:
    """Write one line of the log for each record, in one statement."""
    Change.objects.bulk_create(
        Change(
            by=by,
            kind=record._meta.label,
            record=str(record.pk),
            words=words[:200],
            before=_plain(before),
            after=_plain(after),
        )
        for record, words, before, after in changes
    )


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    """Values as JSON holds them; dates in ISO form."""
    simple = (str, int, float, bool, type(None))
    return {
        name: value if isinstance(value, simple) else str(value) for name, value in values.items()
    }
