"""The sheet of a plain model: read, compared and saved by the thousand rows.

For records that people edit and that have no history of their own. What may only be written by an
action of its own (stock, jobs) declares its sheet with that action instead.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import (
    MaxLengthValidator,
    MaxValueValidator,
    MinValueValidator,
    ProhibitNullCharactersValidator,
)
from django.db import models

from inventory.sheet import Changed, Check, Column, Key, Kind, Refusal, Row, Saved, Sheet
from inventory.sheet.conditions import broken
from inventory.sheet.once import Once, once_only

AT_A_TIME = 1000
"""Rows per query: few round trips, few parameters, little memory."""

_RANGED = (MinValueValidator, MaxValueValidator, MaxLengthValidator)
_KINDS: tuple[tuple[type[models.Field[Any, Any]], Kind], ...] = (
    (models.BooleanField, Kind.YES_NO),
    (models.DateTimeField, Kind.INSTANT),
    (models.DateField, Kind.DATE),
    (models.TimeField, Kind.TIME),
    (models.IntegerField, Kind.WHOLE),
    (models.DecimalField, Kind.NUMBER),
    (models.FloatField, Kind.REAL),
)
_UNITS = {"_kpa": Kind.PRESSURE, "_cnm": Kind.TORQUE, "_cents": Kind.MONEY}


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """A record added (nothing before) or changed, for the log of changes."""

    record: models.Model
    before: dict[str, Any]
    after: dict[str, Any]


Log = Callable[[Sequence[Edit], Any], None]


def record_sheet(
    model: type[models.Model],
    *,
    title: str,
    one: str,
    note: str,
    key: tuple[str, ...],
    columns: tuple[Column, ...],
    known: Callable[[], Iterable[tuple[Key, int]]] | None = None,
    log: Log | None = None,
    after: tuple[str, ...] = (),
) -> Sheet:
    """The sheet of a model; `log` is told of every record added or changed, after the fact."""
    whole = tuple(_completed(model, column) for column in columns)
    records = _Records(
        model=model,
        columns=whole,
        key=tuple(next(column for column in whole if column.field == field) for field in key),
        attributes={f.name: f.attname for f in model._meta.concrete_fields},
        blanks=[_blank(f) for f in model._meta.concrete_fields],
        log=log,
    )
    return Sheet(
        title=title,
        one=one,
        note=note,
        columns=whole,
        key=key,
        rows=records.rows,
        known=known or records.known,
        save=records.save,
        checker=records.checker,
        compare=records.compare,
        after=after,
    )


def _completed(model: type[models.Model], column: Column) -> Column:
    """The column with what the model's field says, wherever the declaration leaves it open."""
    if column.flags:
        return replace(column, kind=Kind.CHOICES, default=frozenset())
    field = {f.name: f for f in model._meta.concrete_fields}.get(column.field)
    if field is None:
        return replace(column, kind=column.kind or Kind.TEXT, required=column.required is not False)
    default = _default(field) if column.default is None else column.default
    limits = {type(found): found.limit_value for found in _limits(field)}
    return replace(
        column,
        kind=column.kind or _kind(field),
        required=_required(field) if column.required is None else column.required,
        default=default,
        low=limits.get(MinValueValidator) if column.low is None else column.low,
        high=limits.get(MaxValueValidator) if column.high is None else column.high,
        longest=column.longest or limits.get(MaxLengthValidator),
        choices=column.choices or tuple((str(v), str(w)) for v, w in field.flatchoices if v != ""),
        path=column.path or column.field,
        checks=column.checks or _checks(field),
        help=column.help or str(field.help_text),
    )


def _kind(field: models.Field[Any, Any]) -> Kind:
    if field.flatchoices:
        return Kind.CHOICE
    for ending, kind in _UNITS.items():
        if field.name.endswith(ending):
            return kind
    return next((kind for type_, kind in _KINDS if isinstance(field, type_)), Kind.TEXT)


def _required(field: models.Field[Any, Any]) -> bool:
    if field.has_default():
        # What the clock or chance gives would change the record at every load: it is written out.
        return callable(field.default)
    return not (field.blank or field.null or isinstance(field, models.BooleanField))


def _default(field: models.Field[Any, Any]) -> Any:
    if field.has_default():
        return None if callable(field.default) else field.default
    if isinstance(field, models.BooleanField):
        return None if field.null else False
    return "" if isinstance(field, models.CharField | models.TextField) else None


def _limits(field: models.Field[Any, Any]) -> Iterator[Any]:
    """The narrowest limits last, so that they win."""
    found = [limit for limit in field.validators if isinstance(limit, _RANGED)]
    lows = [limit for limit in found if isinstance(limit, MinValueValidator)]
    yield from sorted(lows, key=lambda limit: limit.limit_value)
    highs = [limit for limit in found if not isinstance(limit, MinValueValidator)]
    yield from sorted(highs, key=lambda limit: -limit.limit_value)


def _checks(field: models.Field[Any, Any]) -> tuple[Callable[[Any], None], ...]:
    known = (*_RANGED, ProhibitNullCharactersValidator)
    return tuple(check for check in field.validators if not isinstance(check, known))


def runs(rows: Iterable[Row], length: int = AT_A_TIME) -> Iterator[list[Row]]:
    source = iter(rows)
    while run := list(islice(source, length)):
        yield run


@dataclass(frozen=True, slots=True, kw_only=True)
class _Records:
    model: type[models.Model]
    columns: tuple[Column, ...]
    key: tuple[Column, ...]
    attributes: dict[str, str]
    blanks: list[tuple[str, Callable[[], Any] | None, Any]]
    log: Log | None

    def rows(self) -> Iterator[Row]:
        paths = [path for column in self.columns for path in _paths(column)]
        order = [column.path for column in self.key] or ["pk"]
        found = self.model._default_manager.order_by(*order).values_list(*paths)
        for values in found.iterator(AT_A_TIME):
            given = iter(values)
            yield {column.field: _exported(column, given) for column in self.columns}

    def known(self) -> Iterator[tuple[Key, int]]:
        paths = [column.path for column in self.key]
        found = self.model._default_manager.order_by().values_list("pk", *paths)
        return ((tuple(values), pk) for pk, *values in found.iterator(AT_A_TIME))

    def checker(self) -> Check:
        constraints = broken(self.model)
        onces = once_only(self.model)
        return lambda rows: self._refusals(rows, constraints, onces)

    def _refusals(
        self,
        rows: Sequence[Row],
        constraints: Callable[[models.Model], list[str]],
        onces: Sequence[Once],
    ) -> Iterator[Refusal]:
        sound: list[tuple[int, models.Model]] = []
        for index, (edit, unclean) in enumerate(self._filled(rows)):
            sentences = unclean + [("", sentence) for sentence in constraints(edit.record)]
            for field, sentence in sentences:
                yield Refusal(index=index, field=field, sentence=sentence)
            if not sentences:
                sound.append((index, edit.record))
        for once in onces:
            yield from once.refusals(sound)

    def compare(self, rows: Sequence[Row]) -> Iterator[Changed]:
        for edit, _ in self._filled([row for row in rows if row["pk"] is not None]):
            for field, before in edit.before.items():
                yield Changed(
                    pk=edit.record.pk, field=field, before=before, after=edit.after[field]
                )

    def save(self, rows: Iterable[Row], *, by: Any) -> Saved:
        total = Saved()
        for run in runs(rows):
            total += self._save_run(run, by)
        return total

    def _save_run(self, run: Sequence[Row], by: Any) -> Saved:
        edits = [edit for edit, _ in self._filled(run)]
        added = [edit for edit in edits if edit.record.pk is None]
        changed = [edit for edit in edits if edit.before]
        manager = self.model._default_manager
        if changed:
            # Far quicker than bulk_update, which spells out every value of every row in a CASE.
            manager.bulk_create(
                [edit.record for edit in changed],
                update_conflicts=True,
                unique_fields=["pk"],
                update_fields=self._written(),
            )
        # After what changed: a row that ends makes room for the one that begins.
        manager.bulk_create([edit.record for edit in added])
        if self.log is not None and (added or changed):
            self.log([*added, *changed], by)
        return Saved(
            added=len(added), changed=len(changed), same=len(run) - len(added) - len(changed)
        )

    def _written(self) -> list[str]:
        return [f.name for f in self.model._meta.concrete_fields if not f.primary_key]

    def _filled(self, rows: Sequence[Row]) -> Iterator[tuple[Edit, list[tuple[str, str]]]]:
        """Each row's record with the row's values in it, cleaned, and what cleaning refused."""
        pks = [row["pk"] for row in rows if row["pk"] is not None]
        old = self.model._default_manager.in_bulk(pks) if pks else {}
        for row in rows:
            values = dict(self._values(row))
            if row["pk"] is None:
                record = self._new(values)
                yield Edit(record=record, before={}, after=values), _unclean(record)
                continue
            record = old[row["pk"]]
            kept = {name: getattr(record, name) for name in values}
            for name, value in values.items():
                setattr(record, name, value)
            # Cleaning may spell a value as it is kept: compared after it, a load finds its own.
            unclean = _unclean(record)
            after = {name: getattr(record, name) for name in values}
            changed = [name for name in values if kept[name] != after[name]]
            yield (
                Edit(
                    record=record,
                    before={name: kept[name] for name in changed},
                    after={name: after[name] for name in changed},
                ),
                unclean,
            )

    def _new(self, values: dict[str, Any]) -> models.Model:
        """A record of these values by attribute; by position, twice as quick as by name."""
        return self.model(
            *[
                values[attribute] if attribute in values else make() if make else value
                for attribute, make, value in self.blanks
            ]
        )

    def _values(self, row: Row) -> Iterator[tuple[str, Any]]:
        for column in self.columns:
            if column.field not in row:
                continue
            if column.flags:
                chosen = row[column.field]
                yield from ((field, choice in chosen) for choice, field in column.flags)
            elif column.field in self.attributes:
                yield self.attributes[column.field], row[column.field]


def _blank(field: models.Field[Any, Any]) -> tuple[str, Callable[[], Any] | None, Any]:
    """What a field holds where a row says nothing: made anew each time, or the same."""
    if callable(field.default) and field.has_default():
        return field.attname, field.get_default, None
    return field.attname, None, field.get_default()


def _paths(column: Column) -> list[str]:
    return [field for _, field in column.flags] if column.flags else [column.path]


def _exported(column: Column, given: Iterator[Any]) -> Any:
    if column.flags:
        return frozenset(choice for choice, _ in column.flags if next(given))
    return next(given)


def _unclean(record: models.Model) -> list[tuple[str, str]]:
    """Fields and sentences that the record's own cleaning refuses."""
    try:
        record.clean()
    except ValidationError as refusal:
        named = getattr(refusal, "error_dict", {"": refusal})
        return [
            (field, sentence)
            for field, errors in named.items()
            for sentence in ValidationError(errors).messages
        ]
    return []
