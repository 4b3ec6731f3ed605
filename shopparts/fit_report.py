"""The answer of the fit page as plain data, for commands and other programs."""

from dataclasses import replace
from typing import Any

from django.core.exceptions import ValidationError
from django.http import QueryDict

from inventory.catalog.fit import Findings
from inventory.catalog.inputs import Possible, possible_fits
from inventory.catalog.models import Application
from inventory.catalog.names import VehicleHit, typed, vehicles_named
from inventory.shop.models import ShopSettings, Site
from jobs.workshop.models import Vehicle
from shopparts.fit import Fit, fit_for
from shopparts.fit_answer import Answer, Line, answer_for
from shopparts.search_served import known_here

NAMED = 8
MOST_SAID = 60


def fit_report(
    text: str, *, answers: dict[str, str], findings: Findings, site: Site
) -> dict[str, Any]:
    """What fits the vehicle the text names, or the question that has to be answered first."""
    shop = ShopSettings.load()
    if served := _served(text):
        vehicle, known = served
        set_to = findings.pressure_set_kpa or vehicle.pressure_set_kpa
        told = replace(findings, pressure_set_kpa=set_to)
        answer = answer_for(possible_fits([known]), findings=told, site=site, shop=shop)
        named = {"make": known.make, "model": known.model, "year": vehicle.model_year}
        return named | {"question": None, "fits": [_answer(answer)]}
    hit = _vehicle(text)
    address = QueryDict(mutable=True)
    address.update({"make": hit.make, "model": hit.model, "words": hit.other_words} | answers)
    if year := typed(text).year:
        address["year"] = str(year)
    fit = fit_for(address, findings)
    groups = {group.first.pk: {a.pk for a in group.applications} for group in fit.groups}
    return {
        "make": hit.make,
        "model": hit.model,
        "year": fit.asked.year,
        "question": _question(fit),
        "fits": [
            _answer(answer_for(_of(fit, pks), findings=findings, site=site, shop=shop))
            for pks in groups.values()
        ],
    }


def _served(text: str) -> tuple[Vehicle, Application] | None:
    """The one vehicle served here by this VIN, plate, unit number or sensor id."""
    served = {vehicle for vehicle, _ in known_here(text, limit=NAMED)}
    if len(served) != 1:
        return None
    (vehicle,) = served
    if vehicle.application is None:
        raise ValidationError(
            f"Nobody has said yet which vehicle {vehicle} is; give its year, make and model."
        )
    return vehicle, vehicle.application


def _vehicle(text: str) -> VehicleHit:
    hits = vehicles_named(text, limit=NAMED)
    if not hits:
        said = text if len(text) <= MOST_SAID else f"{text[:MOST_SAID]}…"
        raise ValidationError(
            f"No vehicle is listed or served here as “{said}”; give its year, make and model, "
            "such as 14 merow van."
        )
    words = " ".join(typed(text).words)
    exact = [hit for hit in hits if words.startswith(f"{hit.make} {hit.model}".lower())]
    if len(hits) > 1 and len(exact) != 1:
        named = ", ".join(f"{hit.make} {hit.model}" for hit in hits)
        raise ValidationError(f"“{text}” may be any of these; say which: {named}.")
    return (exact or hits)[0]


def _of(fit: Fit, pks: set[int]) -> list[Possible]:
    return [possible for possible in fit.left if possible.application.pk in pks]


def _question(fit: Fit) -> dict[str, Any] | None:
    if fit.asking is None:
        return None
    return {
        "trait": fit.asking.trait,
        "words": fit.asking.words,
        "choices": {choice.value: choice.words for choice in fit.asking.choices},
    }


def _answer(answer: Answer) -> dict[str, Any]:
    return {
        "title": answer.title,
        "applications": [application.key for application in answer.applications],
        "names": list(answer.names),
        "not_checked": [application.key for application in answer.drafts],
        "parts": [_line(line) for role in answer.roles for line in role.lines],
        "left_out": [{"number": e.part.number, "reason": e.reason} for e in answer.excluded],
    }


def _line(line: Line) -> dict[str, Any]:
    part = line.offered.part
    return {
        "number": part.number,
        "role": part.kind,
        "axle": part.axle,
        "quantity_per_wheel": part.quantity,
        "prepared_as": part.prepared_as,
        "replaces": part.replaces,
        "here": line.supply.here,
        "bins": line.supply.bins,
        "elsewhere": line.supply.elsewhere,
        "on_order": line.supply.arriving,
        "price_cents": line.price_cents,
        "warnings": list(line.offered.warnings),
    }
