"""The one search box: a VIN, a plate, a sensor id, any part code, or words."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.urls import reverse

from inventory.catalog.codes import normalised
from inventory.catalog.models import Part, VinPattern
from inventory.catalog.names import VehicleHit, parts_known_as, typed, vehicles_named
from inventory.catalog.spans import built_text
from inventory.catalog.vin import as_vin, check_digit, model_years, passes_check_digit
from shopparts.search_served import Hit, vehicles_served

MOST_TYPED = 200
VIN_LENGTHS = range(15, 20)
FEWEST_DIGITS = 3
LONG_WORD = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    title: str
    hits: tuple[Hit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    notes: tuple[str, ...]
    groups: tuple[Group, ...]

    @property
    def hits(self) -> list[Hit]:
        return [hit for group in self.groups for hit in group.hits]


def found_for(text: str, *, today: date, limit: int = 8) -> Found:
    """Everything the text may name, the likeliest kind first."""
    if len(text) > MOST_TYPED:
        note = (
            f"That is too long to look up: {len(text)} characters. "
            "Type a VIN, a plate, a code or a few words."
        )
        return Found(notes=(note,), groups=())
    if not normalised(text):
        return Found(notes=("Type letters or digits.",) if text.strip() else (), groups=())
    served = vehicles_served(text, limit=limit)
    parts = [_part_hit(part) for part in parts_known_as(text, limit=limit)]
    notes, by_vin = _by_vin(text, today) if _looks_like_vin(text) and not parts else ((), ())
    vehicles = () if notes else [_vehicle_hit(h, text) for h in vehicles_named(text, limit=limit)]
    groups = [
        Group(title="Served here", hits=tuple(served)),
        Group(title="This VIN", hits=tuple(by_vin)),
        Group(title="Vehicles", hits=tuple(vehicles)),
        Group(title="Parts", hits=tuple(parts)),
    ]
    return Found(notes=tuple(notes), groups=tuple(group for group in groups if group.hits))


def _looks_like_vin(text: str) -> bool:
    """About as long as a VIN, with its digits, and without a long word; spaces may be pasted in."""
    pieces = text.replace("-", "").split()
    bare = "".join(pieces)
    if len(bare) not in VIN_LENGTHS or not bare.isalnum():
        return False
    digits = sum(letter.isdigit() for letter in bare)
    words = len(pieces) > 1 and any(len(p) >= LONG_WORD and p.isalpha() for p in pieces)
    return digits >= FEWEST_DIGITS and not words


def _by_vin(text: str, today: date) -> tuple[list[str], list[Hit]]:
    try:
        vin = as_vin(text.replace("-", ""))
    except ValueError as fault:
        return [str(fault)], []
    passes = passes_check_digit(vin)
    years = model_years(vin, light_vehicle=passes, this_year=today.year)
    patterns = VinPattern.objects.filter(start=vin[:8], year__in=years)
    known = patterns.select_related("application").order_by("-vehicles", "year")
    hits = [_pattern_hit(pattern) for pattern in known]
    hits += [
        Hit(
            name=f"{year}: choose make and model",
            words="",
            address=f"{reverse('fit')}?{urlencode({'year': year})}",
        )
        for year in years
        if year not in {pattern.year for pattern in known}
    ]
    return [_about_check_digit(vin, passes), _about_years(years)], hits


def _about_check_digit(vin: str, passes: bool) -> str:
    if passes:
        return "Passes the check digit."
    return (
        f"The ninth character is “{vin[8]}”; the check digit would be “{check_digit(vin)}”. "
        "Read a North American VIN again; elsewhere it may be right."
    )


def _about_years(years: list[int]) -> str:
    if not years:
        return (
            "The tenth character names no model year up to now; ask for it or read the door label."
        )
    return f"Model year {' or '.join(map(str, years))}."


def _pattern_hit(pattern: VinPattern) -> Hit:
    seen = "1 vehicle" if pattern.vehicles == 1 else f"{pattern.vehicles} vehicles"
    application = pattern.application
    apart = [built_text(application), application.trim, application.wheel]
    return Hit(
        name=f"{pattern.year} {application.make} {application.model}",
        words=", ".join(filter(None, [*apart, f"{seen} like it served here"])),
        address=reverse("fit_answer", args=[pattern.application_id]),
    )


def _vehicle_hit(hit: VehicleHit, text: str) -> Hit:
    asked = typed(text)
    state = {"make": hit.make, "model": hit.model}
    if asked.year:
        state["year"] = str(asked.year)
    if hit.other_words:
        state["words"] = hit.other_words
    year = f"{asked.year} " if asked.year else ""
    return Hit(
        name=f"{year}{hit.make} {hit.model}",
        words=f"{hit.first_year}–{hit.last_year}",
        address=f"{reverse('fit')}?{urlencode(state)}",
    )


def _part_hit(part: Part) -> Hit:
    return Hit(
        name=part.number,
        words=part.words or part.get_kind_display().lower(),
        address=reverse("inventory:part_detail", args=[part.pk]),
    )
