"""The shop of the database ten times over: every record again under new keys, numbers and plates.

Rows are copied by the database itself, each table's numbers shifted by its largest, so that a copy
points to copies. What there is one of stays: sites, people, settings. Nothing is posted: the copies
are for reading, and for a plan of their own.
"""

from typing import Any

from django.apps import apps
from django.db import connection, models, transaction
from django.utils import timezone

from inventory.reorder.actions.plan import run_plan

TIMES = 10
ONE_OF = {"Site", "ShopSettings", "AdviceSettings", "Belief", "Change", "PlanRun", "PlanLine"}
# What rows are found by, or name each other by.
TOLD_APART = {
    "key",
    "number",
    "number_key",
    "code",
    "code_key",
    "job_key",
    "fitted_by_job_key",
    "occasion",
    "model",
    "search_key",
    "plate",
    "plate_key",
    "unit_number",
}
NAMED = {"Account", "Supplier"}


def copied_models() -> list[type[models.Model]]:
    found = (m for label in ("inventory", "jobs") for m in apps.get_app_config(label).get_models())
    return [model for model in found if model.__name__ not in ONE_OF]


def make_tenfold() -> None:
    """SQLite checks foreign keys at the end of the transaction, so any order will do."""
    copied = copied_models()
    shift = {model: largest(model) for model in copied}
    with transaction.atomic(), connection.cursor() as cursor:
        for time in range(1, TIMES):
            for model in copied:
                cursor.execute(copying(model, shift, time))
        cursor.execute("ANALYZE")
    run_plan(as_of=timezone.now().date(), by=None)


def largest(model: type[models.Model]) -> int:
    found = model._default_manager.aggregate(largest=models.Max("pk"))["largest"]
    return int(found or 0)


def copying(model: type[models.Model], shift: dict[Any, int], time: int) -> str:
    fields = model._meta.concrete_fields
    columns = ", ".join(f'"{field.column}"' for field in fields)
    copies = ", ".join(copy_of(field, shift, time) for field in fields)
    last = shift[model]
    table = model._meta.db_table
    return f'INSERT INTO "{table}" ({columns}) SELECT {copies} FROM "{table}" WHERE id <= {last}'


def copy_of(field: Any, shift: dict[Any, int], time: int) -> str:
    own, column = field.model, f'"{field.column}"'
    target = own if field.primary_key else field.related_model
    if target in shift:
        return f"{column} + {time * shift[target]}"
    if field.name == "vin":
        return f"CASE {column} WHEN '' THEN '' ELSE '{time}' || substr({column}, 2) END"
    if field.name in TOLD_APART or (field.name == "name" and own.__name__ in NAMED):
        return f"CASE {column} WHEN '' THEN '' ELSE {column} || '~{time}' END"
    return column
