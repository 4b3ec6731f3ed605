"""What may stand only once in a table besides the key, such as one GTIN for one part.

Looked for in the rows of the same workbook and, a run of rows at a time, in the database.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import models
from django.db.models import Q

from inventory.sheet import Refusal
from inventory.sheet.conditions import Verdict, judge


@dataclass(slots=True, kw_only=True)
class Once:
    """One constraint during one load; it remembers what the rows before have claimed."""

    model: type[models.Model]
    fields: tuple[str, ...]
    condition: Q
    met: Callable[[models.Model], Verdict]
    sentence: str
    claimed: set[tuple[Any, ...]] = field(default_factory=set)

    def refusals(self, records: Sequence[tuple[int, models.Model]]) -> Iterator[Refusal]:
        held = self._held([record for _, record in records if self._concerns(record)])
        for index, record in records:
            if not self._concerns(record):
                continue
            value = self._value(record)
            if value in self.claimed or held.get(value, record.pk) != record.pk:
                yield Refusal(index=index, field="", sentence=self.sentence)
            self.claimed.add(value)

    def _concerns(self, record: models.Model) -> bool:
        return self.met(record) is True and None not in self._value(record)

    def _value(self, record: models.Model) -> tuple[Any, ...]:
        return tuple(getattr(record, name) for name in self.fields)

    def _held(self, records: Sequence[models.Model]) -> dict[tuple[Any, ...], int]:
        if not records:
            return {}
        found = self.model._default_manager.filter(self.condition)
        for place, name in enumerate(self.fields):
            found = found.filter(**{f"{name}__in": {self._value(r)[place] for r in records}})
        return {tuple(values): pk for pk, *values in found.values_list("pk", *self.fields)}


def once_only(model: type[models.Model]) -> list[Once]:
    """The unique constraints over plain columns; those over a relation are keys of sheets."""
    relations = {f.name for f in model._meta.concrete_fields if f.is_relation}
    return [
        Once(
            model=model,
            fields=tuple(constraint.fields),
            condition=constraint.condition or Q(),
            met=judge(constraint.condition or Q()),
            sentence=str(constraint.get_violation_error_message()),
        )
        for constraint in model._meta.constraints
        if isinstance(constraint, models.UniqueConstraint)
        and constraint.fields
        and not relations & set(constraint.fields)
    ]
