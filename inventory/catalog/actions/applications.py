"""Upkeep of applications by the parts manager: edit, copy, split, merge, drop.

Vehicles written down as an application are another subject's; whoever calls these moves them.
"""

import itertools
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from inventory.catalog.actions.kept import changed, created, facts_of, removed
from inventory.catalog.codes import normalised
from inventory.catalog.models import (
    Application,
    ApplicationStatus,
    Evidence,
    EvidenceKind,
    Fitment,
    VinPattern,
)
from inventory.catalog.spans import month_after, month_before, span_text
from inventory.shop.amounts import month_text


@transaction.atomic
def add_application(facts: Mapping[str, Any], *, key: str = "", by: Any) -> Application:
    """A new entry that the parts manager vouches for; a key is made where none is given."""
    application = Application(**facts)
    application.key = key.strip() or _key_for(application)
    same = Application.objects.alike(application).filter(
        year_from__lte=application.year_to, year_to__gte=application.year_from
    )
    if (standing := same.first()) and application.built_from == application.built_to is None:
        raise ValidationError(
            f"{standing} covers some of these years; change that one, or write trim, wheel or "
            "months that tell the two apart."
        )
    return created(application, f"entry {application}", by=by)


def _key_for(application: Application) -> str:
    """Make, model and first year, such as MEROW-LISTA-2013; with a number where that is taken."""
    names = (application.make, application.model, application.trim, application.wheel)
    stem = "-".join(filter(None, [*(normalised(name)[:9] for name in names)]))
    stem = f"{stem}-{application.year_from}"[:36]
    taken = set(Application.objects.filter(key__startswith=stem).values_list("key", flat=True))
    numbered = (f"{stem}-{number}" for number in itertools.count(2))
    return stem if stem not in taken else next(key for key in numbered if key not in taken)


@transaction.atomic
def edit_application(
    application: Application, *, to: Mapping[str, Any], checked: bool = False, by: Any
) -> Application:
    """Set these facts; `checked` says that the parts manager vouches for all of them now."""
    facts = dict(to) | ({"status": ApplicationStatus.CHECKED} if checked else {})
    return changed(application, f"entry {application}", to=facts, by=by)


@transaction.atomic
def copy_application(
    application: Application, *, year_from: int, year_to: int, key: str, by: Any
) -> Application:
    """The same facts and parts for other model years, as a draft: nobody has seen such a car."""
    if made := Application.objects.filter(key=_key(application, key)).first():
        return made
    others = Application.objects.alike(application).filter(
        year_from__lte=year_to, year_to__gte=year_from
    )
    if standing := others.first():
        raise ValidationError(
            f"{standing} covers some of these years; edit that one, or choose other years."
        )
    facts = {
        "year_from": year_from,
        "year_to": year_to,
        "built_from": None,
        "built_to": None,
        "status": ApplicationStatus.DRAFT,
        "source": f"copied from {application.years}",
    }
    copy = _alike(application, facts, key=key)
    created(copy, f"entry {copy} copied from {application.years}", by=by)
    _copy_parts(application, copy)
    return copy


@transaction.atomic
def split_application(application: Application, *, month: date, key: str, by: Any) -> Application:
    """Part it at a month of building; the later one is new, with the same facts and parts.

    A vehicle is of a model year no earlier than the year it was built in, and at most the next
    (40 CFR 85.2302 to 85.2304, from memory); that narrows the years of both.
    """
    if made := Application.objects.filter(key=_key(application, key)).first():
        return made
    month, before = month.replace(day=1), month_before(month)
    first_year = max(application.year_from, month.year)
    last_year = min(application.year_to, before.year + 1)
    if not (first_year <= application.year_to and application.year_from <= last_year):
        raise _outside(month, application)
    if not ((application.built_from or date.min) < month <= (application.built_to or date.max)):
        raise _outside(month, application)
    later = _alike(application, {"built_from": month, "year_from": first_year}, key=key)
    words = f"entry {application} split at {month_text(month)}"
    to = {"built_to": before, "year_to": last_year}
    changed(application, words, to=to, by=by)
    created(later, words, by=by)
    _copy_parts(application, later)
    application.evidence.filter(built_month__gte=month).update(application=later)
    patterns = application.vin_patterns.filter(year__gte=first_year)
    VinPattern.objects.bulk_create(
        VinPattern(application=later, start=p.start, year=p.year, vehicles=p.vehicles)
        for p in patterns
    )
    return later


def _outside(month: date, application: Application) -> ValidationError:
    return ValidationError(
        f"{month_text(month)} lies outside {span_text(application)}; choose a month inside it."
    )


@transaction.atomic
def move_split(earlier: Application, later: Application, *, month: date, by: Any) -> None:
    """Where two applications meet, let the later one begin at this month.

    Parts that answered on vehicles of the months between go over with them; parts that did not
    fit there are settled by it: they were fitted on the wrong side.
    """
    month, before = month.replace(day=1), month_before(month)
    if earlier.built_to is None or month_after(earlier.built_to) != later.built_from:
        raise ValidationError(f"{earlier} and {later} do not meet at a month; edit each of them.")
    if not ((earlier.built_from or date.min) < month <= (later.built_to or date.max)):
        raise ValidationError(
            f"{month_text(month)} lies outside both; choose a month inside one of them."
        )
    old = later.built_from
    words = f"split of {earlier.make} {earlier.model} moved to {month_text(month)}"
    earlier_years = {"year_to": max(earlier.year_to, min(later.year_to, before.year + 1))}
    later_years = {"year_from": min(later.year_from, max(earlier.year_from, month.year))}
    forward = month > old
    changed(earlier, words, to={"built_to": before} | (earlier_years if forward else {}), by=by)
    changed(later, words, to={"built_from": month} | ({} if forward else later_years), by=by)
    losing, gaining = (later, earlier) if forward else (earlier, later)
    between = losing.evidence.filter(
        built_month__gte=min(old, month), built_month__lt=max(old, month)
    )
    between.filter(kind=EvidenceKind.CONTRADICTED).update(settled=True)
    _hand_over(between.filter(kind=EvidenceKind.CONFIRMED), gaining)


@transaction.atomic
def merge_application(
    application: Application, *, into: Application, with_parts: bool = False, by: Any
) -> Application:
    """One entry instead of two: what was learned goes over; parts only where asked for."""
    _check_merge(application, into)
    if with_parts:
        _copy_parts(application, into)
    _hand_over(application.evidence.all(), into)
    _hand_over_patterns(application, into)
    after = {"merged_into": into.key, "with_parts": with_parts}
    removed(application, f"entry {application} merged into {into}", after=after, by=by)
    return into


_TOLD_APART = {"system": "system", "band": "band", "mounting": "mounting", "hole": "valve hole"}


def _check_merge(application: Application, into: Application) -> None:
    if application == into:
        raise ValidationError("An entry cannot be merged into itself; choose another.")
    if (application.make, application.model) != (into.make, into.model):
        raise ValidationError(f"{into} is another model; correct make and model of one first.")
    for name, words in _TOLD_APART.items():
        mine, its = getattr(application, name), getattr(into, name)
        if mine and its and mine != its:
            raise ValidationError(
                f"The two differ in {words}; correct the wrong one first, or keep both."
            )
    if application.year_from < into.year_from or application.year_to > into.year_to:
        raise ValidationError(
            f"{application.years} reaches outside {into.years}; widen the years of that one first."
        )


@transaction.atomic
def drop_application(application: Application, *, by: Any) -> None:
    """Take it out of the catalogue, with its list of parts; the log keeps what it said."""
    parts = ", ".join(application.fitments.values_list("part__number", flat=True))
    removed(application, f"entry {application} dropped", after={"parts": parts}, by=by)


def _key(application: Application, key: str) -> str:
    return f"{application.key[:20]}-{key}"[:40]


def _alike(application: Application, facts: Mapping[str, Any], *, key: str) -> Application:
    own = facts_of(application) | {"key": _key(application, key)}
    return Application(**own | dict(facts))


def _copy_parts(application: Application, other: Application) -> None:
    """List the parts of one on the other too; a part listed there already stays as it is."""
    names = ("part_id", "axle", "rank", "quantity", "prepared_as")
    rows = application.fitments.values(*names)
    Fitment.objects.bulk_create(
        [Fitment(application=other, **row) for row in rows], ignore_conflicts=True
    )


def _hand_over(evidence: Iterable[Evidence], application: Application) -> None:
    """A job says the same of a part once: what is said there already is not said twice."""
    said = set(application.evidence.values_list("part_id", "job_key", "kind"))
    moved = [one.pk for one in evidence if (one.part_id, one.job_key, one.kind) not in said]
    Evidence.objects.filter(pk__in=moved).update(application=application)


def _hand_over_patterns(application: Application, into: Application) -> None:
    for pattern in application.vin_patterns.all():
        same = into.vin_patterns.filter(start=pattern.start, year=pattern.year)
        if not same.update(vehicles=F("vehicles") + pattern.vehicles):
            VinPattern.objects.filter(pk=pattern.pk).update(application=into)
