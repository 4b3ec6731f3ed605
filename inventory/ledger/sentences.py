"""What a refused constraint means, in the constraint's own sentence."""

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models


def refusal_of(broken: IntegrityError) -> ValidationError:
    """The refusal to show for a broken constraint; the error itself where it has no sentence."""
    told = str(broken)
    for model in apps.get_app_config("inventory").get_models():
        for constraint in model._meta.constraints:
            if constraint.name in told:
                return ValidationError(str(constraint.get_violation_error_message()))
        for field in model._meta.local_concrete_fields:
            if field.unique and _names(told, model, field):
                return ValidationError(_said_by(field, model))
    raise broken


def _said_by(field: "models.Field[object, object]", model: type[models.Model]) -> str:
    own: dict[str, str] = field._error_messages or {}  # type: ignore[attr-defined]
    return own.get("unique") or (
        f"Another {model._meta.verbose_name} has this {field.verbose_name} already; "
        "look at that one first."
    )


def _names(told: str, model: type[models.Model], field: "models.Field[object, object]") -> bool:
    """SQLite names table and column, PostgreSQL an index made of both."""
    table, column = model._meta.db_table, field.column
    return f"{table}.{column}" in told or f'"{table}_{column}' in told
