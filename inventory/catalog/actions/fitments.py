"""Which part serves which application, what replaces what, and what becomes of evidence."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.actions.kept import changed, created, removed
from inventory.catalog.models import Application, Axle, Evidence, Fitment, Part, Supersession
from inventory.shop.actions import record_changes


@transaction.atomic
def list_part(
    application: Application,
    part: Part,
    *,
    axle: str = Axle.ALL,
    rank: int = 1,
    quantity: int = 1,
    prepared_as: str = "",
    by: Any,
) -> Fitment:
    """List a part on an application; listed there already, it takes these values."""
    told = {"rank": rank, "quantity": quantity, "prepared_as": prepared_as.strip()}
    words = f"{part} on {application}"
    standing = Fitment.objects.filter(application=application, part=part, axle=axle).first()
    if standing:
        return changed(standing, words, to=told, by=by)
    fitment = Fitment(application=application, part=part, axle=axle, **told)
    return created(fitment, words, by=by)


@transaction.atomic
def unlist_part(fitment: Fitment, *, by: Any) -> None:
    """It is offered there no more; where it did not fit, that is decided by it."""
    application, part = fitment.application, fitment.part
    removed(fitment, f"{part} no longer on {application}", by=by)
    if not application.fitments.filter(part=part).exists():
        application.evidence.contradictions().filter(part=part).update(settled=True)


@transaction.atomic
def settle_contradiction(evidence: Evidence, *, by: Any) -> Evidence:
    """The part stays listed all the same; this job's word warns no more."""
    words = f"{evidence.part} stays on {evidence.application} after job {evidence.job_key}"
    evidence.settled = True
    evidence.save(update_fields=["settled"])
    record_changes([(evidence, words, {"settled": False}, {"settled": True})], by=by)
    return evidence


@transaction.atomic
def supersede_part(
    old: Part,
    new: Part,
    *,
    both_ways: bool = False,
    since: date | None = None,
    note: str = "",
    by: Any,
) -> Supersession:
    """From now on `new` is offered wherever `old` is listed."""
    if old.kind != new.kind:
        raise ValidationError(
            f"{new} is a {new.get_kind_display().lower()} and {old} a "
            f"{old.get_kind_display().lower()}; only like replaces like."
        )
    if Supersession.objects.filter(old=new, new=old).exists():
        raise ValidationError(f"{old} supersedes {new} already; end that first.")
    told = {"both_ways": both_ways, "since": since, "note": note.strip()}
    standing = Supersession.objects.filter(old=old, new=new).first()
    if standing:
        return changed(standing, f"{old} superseded by {new}", to=told, by=by)
    return created(Supersession(old=old, new=new, **told), f"{old} superseded by {new}", by=by)


@transaction.atomic
def end_supersession(link: Supersession, *, by: Any) -> None:
    removed(link, f"{link.old} no longer superseded by {link.new}", by=by)
