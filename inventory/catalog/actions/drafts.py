"""An application drafted from what is seen on a vehicle that the catalogue does not list.

A draft may be used at once; the rules of `fit` hold for it as for any other. It stands in the
parts manager's queue until it is checked, merged into another or dropped.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Q

from inventory.catalog import prefix  # noqa: F401  registers the lookup
from inventory.catalog.actions.kept import created
from inventory.catalog.codes import normalised
from inventory.catalog.models import (
    Application,
    ApplicationStatus,
    Construction,
    Fitment,
    Part,
    PartKind,
    System,
)

NAMED, LIKELY = 1, 2
"""Rank of a part whose code is printed on the old one, and of one that only is alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What the vehicle and its wheels show. An empty string: not seen."""

    system: str = System.DIRECT
    band: str = ""
    mounting: str = ""
    hole: str = ""
    construction: str = Construction.UNKNOWN


@transaction.atomic
def draft_application(
    seen: Seen,
    *,
    make: str,
    model: str,
    year: int,
    trim: str = "",
    printed_code: str = "",
    on: date,
    key: str,
    by: Any,
) -> Application:
    """The draft this key has made before, or a new one with the parts that may fit.

    Parts known by the printed code come first; then universal sensors for the band heard. A band
    not heard proposes none of them.
    """
    if made := Application.objects.filter(key=_key(key)).first():
        return made
    make, model = _as_listed(make.strip(), model.strip())
    application = Application(
        key=_key(key),
        make=make,
        model=model,
        year_from=year,
        year_to=year,
        trim=trim.strip(),
        status=ApplicationStatus.DRAFT,
        source=_source(printed_code.strip()),
        source_date=on,
        **asdict(seen),
    )
    try:
        with transaction.atomic():
            created(application, f"draft {application} from what was seen", by=by)
    except (IntegrityError, ValidationError):
        if made := Application.objects.filter(key=_key(key)).first():
            # The same form sent twice at one moment: the other one was first.
            return made
        raise
    named = Part.objects.known_as(printed_code) if normalised(printed_code) else ()
    _propose(application, _with_pieces(named), NAMED)
    _propose(application, _alike(seen), LIKELY)
    return application


def _key(key: str) -> str:
    return f"SEEN-{key}"[:40]


def _source(printed_code: str) -> str:
    printed = f"; printed on the old part: {printed_code}" if printed_code else ""
    return f"seen on a vehicle{printed}"[:120]


def _as_listed(make: str, model: str) -> tuple[str, str]:
    """Make and model as the catalogue spells them, where only case or marks differ."""
    alike = Application.objects.filter(search_key__prefix=normalised(make + model))
    names = alike.order_by().values_list("make", "model").distinct()[:50]
    asked = (normalised(make), normalised(model))
    same = (name for name in names if (normalised(name[0]), normalised(name[1])) == asked)
    return next(same, (make, model))


def _with_pieces(parts: Iterable[Part]) -> list[Part]:
    """The parts, and what each of them is made of."""
    found = list(parts)
    pieces = Part.objects.filter(wholes__whole__in=found).distinct()
    return list(dict.fromkeys([*found, *pieces]))


def _alike(seen: Seen) -> Iterable[Part]:
    """Parts for many vehicles that agree with everything that was seen."""
    if seen.system == System.INDIRECT:
        # A plain valve goes by its hole alone, so an unknown hole proposes none.
        return Part.objects.filter(kind=PartKind.PLAIN_VALVE, hole=seen.hole or "?")
    if not seen.band:
        return Part.objects.none()
    sensors = Part.objects.filter(kind__in=[PartKind.ASSEMBLY, PartKind.BODY], universal=True)
    return sensors.on_band(seen.band).filter(
        _is_or_open("mounting", seen.mounting), _is_or_open("hole", seen.hole)
    )


def _is_or_open(field: str, value: str) -> Q:
    return Q(**{f"{field}__in": [value, ""]}) if value else Q()


def _propose(application: Application, parts: Iterable[Part], rank: int) -> None:
    Fitment.objects.bulk_create(
        [Fitment(application=application, part=part, rank=rank) for part in parts],
        ignore_conflicts=True,
    )
