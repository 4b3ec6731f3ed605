"""Check constraints judged in Python, for rows by the thousand before any is written.

Asking the database about one row takes as long as reading fifty rows of a workbook. The rule
stays where it is, in the model; what this module cannot judge it refuses to take on.
"""

import operator
from collections.abc import Callable
from functools import partial
from typing import Any

from django.db import models
from django.db.models import F, Q

Verdict = bool | None
"""As in SQL: None where a missing value leaves it open, which a check constraint lets pass."""

Compare = Callable[[Any, Any], bool]

_COMPARED: dict[str, Compare] = {
    "exact": operator.eq,
    "lt": operator.lt,
    "lte": operator.le,
    "gt": operator.gt,
    "gte": operator.ge,
    "in": lambda value, among: value in among,
}


def judge(condition: Any) -> Callable[[models.Model], Verdict]:
    """The function that says whether a record meets a condition on its own columns.

    Raises
    ------
    NotImplementedError
        If the condition uses a lookup or an expression other than F() of this model.
    """
    if not isinstance(condition, Q) or condition.connector == Q.XOR:
        raise NotImplementedError(f"{condition!r} is not judged outside the database.")
    parts = [_part(child) for child in condition.children]
    return partial(_combined, parts, condition.connector == Q.OR, condition.negated)


def _part(child: Any) -> Callable[[models.Model], Verdict]:
    return judge(child) if isinstance(child, Q) else _leaf(*child)


def _combined(
    parts: list[Callable[[models.Model], Verdict]],
    decides: bool,
    negated: bool,
    record: models.Model,
) -> Verdict:
    """One part that decides settles it; else a part left open leaves the whole open."""
    found: Verdict = not decides
    for part in parts:
        said = part(record)
        if said is decides:
            return decides is not negated
        if said is None:
            found = None
    return None if found is None else found is not negated


def _leaf(path: str, value: Any) -> Callable[[models.Model], Verdict]:
    name, _, lookup = path.partition("__")
    if lookup == "isnull":
        return lambda record: (record.serializable_value(name) is None) is value
    if lookup in {"", "exact"} and value is None:
        return lambda record: record.serializable_value(name) is None
    compare = _COMPARED.get(lookup or "exact")
    if compare is None:
        raise NotImplementedError(f"The lookup “{path}” is not judged outside the database.")
    if isinstance(value, F):
        return _between(compare, name, str(getattr(value, "name")))  # noqa: B009  typed as absent
    if hasattr(value, "resolve_expression"):
        raise NotImplementedError(f"The expression {value!r} is not judged outside the database.")
    return partial(_held_against, compare, name, value)


def _held_against(compare: Compare, name: str, wanted: Any, record: models.Model) -> Verdict:
    value = record.serializable_value(name)
    return None if value is None else compare(value, wanted)


def _between(compare: Compare, name: str, other: str) -> Callable[[models.Model], Verdict]:
    def said(record: models.Model) -> Verdict:
        value, wanted = record.serializable_value(name), record.serializable_value(other)
        return None if value is None or wanted is None else compare(value, wanted)

    return said


def broken(model: type[models.Model]) -> Callable[[models.Model], list[str]]:
    """A function that gives the sentences of the check constraints a record breaks."""
    checks = [
        (judge(constraint.condition), str(constraint.get_violation_error_message()))
        for constraint in model._meta.constraints
        if isinstance(constraint, models.CheckConstraint)
    ]
    return lambda record: [sentence for met, sentence in checks if met(record) is False]
