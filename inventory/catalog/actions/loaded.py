"""Records of the catalogue changed by a workbook, as the log of changes keeps them.

What a workbook adds is not logged: a first load may be the whole catalogue.
"""

from collections.abc import Sequence
from typing import Any

from inventory.catalog.models import Application, Fitment, Part
from inventory.sheet.records import Edit
from inventory.shop.actions import record_changes


def log_applications(edits: Sequence[Edit], by: Any) -> None:
    record_changes(
        [(e.record, f"entry {e.record}", e.before, e.after) for e in edits if e.before], by=by
    )


def log_parts(edits: Sequence[Edit], by: Any) -> None:
    record_changes(
        [(e.record, f"part {e.record}", e.before, e.after) for e in edits if e.before], by=by
    )


def log_fitments(edits: Sequence[Edit], by: Any) -> None:
    listed = [(e, e.record) for e in edits if e.before and isinstance(e.record, Fitment)]
    parts = Part.objects.in_bulk({fitment.part_id for _, fitment in listed})
    applications = Application.objects.in_bulk({fitment.application_id for _, fitment in listed})
    record_changes(
        [
            (one, f"{parts[one.part_id]} on {applications[one.application_id]}", e.before, e.after)
            for e, one in listed
        ],
        by=by,
    )
