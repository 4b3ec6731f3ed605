"""A part added or changed by hand, with the codes it is known by and the entries it serves."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.actions.codes import link_code
from inventory.catalog.actions.fitments import list_part
from inventory.catalog.actions.kept import changed, created, removed
from inventory.catalog.codes import normalised
from inventory.catalog.models import Application, Part, PartCode

Codes = Iterable[tuple[str, str]]
"""Kind and code."""


@transaction.atomic
def add_part(
    facts: Mapping[str, Any], *, codes: Codes = (), on: Iterable[Application] = (), by: Any
) -> Part:
    """A new part; listed at once on the entries it serves, all wheels, offered first."""
    _refuse_known(str(facts["number"]))
    part = created(Part(**facts), f"part {facts['number']}", by=by)
    for kind, code in codes:
        link_code(part, code=code, kind=kind, by=by)
    for application in on:
        list_part(application, part, by=by)
    return part


def _refuse_known(number: str) -> None:
    there = Part.objects.filter(number_key=normalised(number)).first()
    if there:
        raise ValidationError(f"{there.title} is listed already; change that one.")


@transaction.atomic
def change_part(part: Part, facts: Mapping[str, Any], *, codes: Codes = (), by: Any) -> Part:
    """Set these facts; the codes given become the codes it is known by, of their kinds."""
    wanted = {(kind, normalised(code)): code for kind, code in codes}
    for known in part.codes.all():
        if (known.kind, known.code_key) not in wanted:
            removed(known, f"{part} no longer known as {known}", by=by)
    part = changed(part, f"part {part}", to=facts, by=by)
    for (kind, _), code in wanted.items():
        link_code(part, code=code, kind=kind, by=by)
    return part


def codes_of(part: Part) -> dict[str, list[str]]:
    """The codes a part is known by, by their kind."""
    found: dict[str, list[str]] = {}
    for kind, code in PartCode.objects.filter(part=part).values_list("kind", "code"):
        found.setdefault(kind, []).append(code)
    return found
