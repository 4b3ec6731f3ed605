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

_COMPARED: dict[str, Callable[[Any, Any], bool]] = {
    "exact": operator.eq,
    "lt": operator.lt,
    "lte": operator.le,
    "gt": operator.gt,
    "gte": operator.ge,
    "in": lambda value, among: value in among,
}


def verdict(condition: Q, record: models.Model) -> Verdict:
    """Whether a record meets a condition on its own columns.

    Raises
    ------
    NotImplementedError
        If the condition uses a lookup or an expression other than F() of this model.
    """
    found = _combined(condition, record)
    return found if not condition.negated or found is None else not found


def _combined(condition: Q, record: models.Model) -> Verdict:
    parts = [
        verdict(child, record) if isinstance(child, Q) else _leaf(child, record)
        for child in condition.children
    ]
    decides = condition.connector == Q.OR
    if condition.connector == Q.XOR:
        raise NotImplementedError("A condition with XOR is not judged outside the database.")
    if decides in parts:
        return decides
    return None if None in parts else not decides


def _leaf(child: Any, record: models.Model) -> Verdict:
    name, _, lookup = child[0].partition("__")
    value, wanted = record.serializable_value(name), _wanted(child[1], record)
    if lookup == "isnull":
        return (value is None) is wanted
    if lookup in {"", "exact"} and child[1] is None:
        return value is None
    compare = _COMPARED.get(lookup or "exact")
    if compare is None:
        raise NotImplementedError(f"The lookup “{child[0]}” is not judged outside the database.")
    return None if value is None or wanted is None else compare(value, wanted)


def _wanted(value: Any, record: models.Model) -> Any:
    if isinstance(value, F):
        return record.serializable_value(str(getattr(value, "name")))  # noqa: B009  typed as absent
    if hasattr(value, "resolve_expression"):
        raise NotImplementedError(f"The expression {value!r} is not judged outside the database.")
    return value


def broken(model: type[models.Model]) -> Callable[[models.Model], list[str]]:
    """A function that gives the sentences of the check constraints a record breaks."""
    checks = [
        (constraint.condition, str(constraint.get_violation_error_message()))
        for constraint in model._meta.constraints
        if isinstance(constraint, models.CheckConstraint)
    ]
    return partial(_broken, checks)


def _broken(checks: list[tuple[Any, str]], record: models.Model) -> list[str]:
    return [sentence for condition, sentence in checks if verdict(condition, record) is False]
