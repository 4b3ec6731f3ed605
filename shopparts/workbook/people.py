"""The sheet of people: who signs in, as what. Passwords never travel by workbook.

A person who arrives by workbook cannot sign in until an owner lets them choose a password.
"""

from collections.abc import Sequence
from typing import Any

from inventory.sheet import Column
from inventory.sheet.records import Edit, record_sheet
from inventory.shop.actions import record_changes
from shopparts.models import User


def _log(edits: Sequence[Edit], by: Any) -> None:
    record_changes([(e.record, f"person {e.record}", e.before, e.after) for e in edits], by=by)


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
