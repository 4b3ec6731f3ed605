"""The sheet of people: who signs in, as what. Passwords never travel by workbook.

A person who arrives by workbook cannot sign in until an owner lets them choose a password.
"""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError

from inventory.sheet import Column
from inventory.sheet.records import Edit, record_sheet
from inventory.shop.actions import record_changes
from inventory.shop.roles import Role
from shopparts.models import User
from shopparts.people import owners


def _log(edits: Sequence[Edit], by: Any) -> None:
    record_changes([(e.record, f"person {e.record}", e.before, e.after) for e in edits], by=by)
    if any(_took_an_owner(edit) for edit in edits) and not owners().exists():
        raise ValidationError(
            "Nobody would be left who lets people in; keep one owner who may sign in."
        )


def _took_an_owner(edit: Edit) -> bool:
    return edit.before.get("role") == Role.OWNER or edit.before.get("is_active") is True


PEOPLE = record_sheet(
    User,
    title="People",
    one="person",
    note="Who signs in and what they may do. Passwords are set by each person, never here.",
    key=("username",),
    log=_log,
    columns=(
        Column("Log-in name", "username", also=("user", "login"), example="robin"),
        Column("First name", "first_name", example="Robin"),
        Column("Last name", "last_name", example="Example"),
        Column("E-mail", "email"),
        Column("Role", "role", example="Technician"),
        Column(
            "Home site",
            "home_site",
            to="Sites",
            path="home_site__code",
            example="MAIN",
        ),
        Column("May sign in", "is_active", example="yes"),
    ),
)
