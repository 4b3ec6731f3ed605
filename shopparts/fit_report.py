"""The answer of the fit page as plain data, for commands and other programs."""

from typing import Any

from django.core.exceptions import ValidationError
from django.http import QueryDict

from inventory.catalog.fit import Findings
from inventory.catalog.inputs import Possible
from inventory.catalog.names import VehicleHit, typed, vehicles_named
from inventory.shop.models import ShopSettings, Site
from shopparts.fit import Fit, fit_for
from shopparts.fit_answer import Answer, Line, answer_for

NAMED = 8


def fit_report(
    text: str, *, answers: dict[str, str], findings: Findings, site: Site
) -> dict[str, Any]:
    """What fits the vehicle the text names, or the question that has to be answered first."""
    hit = _vehicle(text)
    address = QueryDict(mutable=True)
    address.update({"make": hit.make, "model": hit.model, "words": hit.other_words} | answers)
    if year := typed(text).year:
        address["year"] = str(year)
    fit = fit_for(address, findings)
    shop = ShopSettings.load()
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


def _vehicle(text: str) -> VehicleHit:
    hits = vehicles_named(text, limit=NAMED)
    if not hits:
        raise ValidationError(f"No vehicle is listed as “{text}”; check the spelling and the year.")
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
