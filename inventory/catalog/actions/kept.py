"""Saving a record of the catalogue together with its line in the log of changes."""

from collections.abc import Mapping
from typing import Any, TypeVar

from django.db import models

from inventory.shop.actions import record_changes

Record = TypeVar("Record", bound=models.Model)


def facts_of(record: models.Model) -> dict[str, Any]:
    """The fields that people fill in, by name; what the record reckons itself is left out."""
    return {
        field.name: getattr(record, field.attname)
        for field in record._meta.concrete_fields
        if field.editable and not field.primary_key
    }


def created(record: Record, words: str, *, by: Any) -> Record:
    record.full_clean()
    record.save(force_insert=True)
    record_changes([(record, words, {}, facts_of(record))], by=by)
    return record


def changed(record: Record, words: str, *, to: Mapping[str, Any], by: Any) -> Record:
    """Set these fields; nothing is written, nor logged, where they hold these values already."""
    before = facts_of(record)
    for name, value in to.items():
        setattr(record, name, value)
    after = facts_of(record)
    differing = [name for name in after if after[name] != before[name]]
    if differing:
        record.full_clean()
        record.save()
        old, new = ({name: values[name] for name in differing} for values in (before, after))
        record_changes([(record, words, old, new)], by=by)
    return record


def removed(
    record: models.Model, words: str, *, after: Mapping[str, Any] | None = None, by: Any
) -> None:
    """Delete it; `after` says what became of it."""
    record_changes([(record, words, facts_of(record), after or {})], by=by)
    record.delete()
