"""Codes by which a part is known."""

from typing import Any

from django.db import transaction

from inventory.catalog.actions.kept import created
from inventory.catalog.codes import normalised
from inventory.catalog.models import Part, PartCode


@transaction.atomic
def link_code(part: Part, *, code: str, kind: str, by: Any) -> PartCode:
    """Know a part by one more code; one it is known by already stays as it is."""
    known = PartCode.objects.filter(part=part, kind=kind, code_key=normalised(code)).first()
    if known:
        return known
    return created(PartCode(part=part, code=code.strip(), kind=kind), f"code of {part}", by=by)
