"""Who brings a vehicle: taking a name and a phone down, and erasing them when that is asked."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.shop.actions import record_changes
from jobs.workshop.keys import keeper_key
from jobs.workshop.models import Approval, Declined, Keeper, Vehicle


def register_keeper(*, name: str, phone: str = "") -> Keeper:
    keeper = Keeper(key=keeper_key(), name=name.strip(), phone=phone.strip())
    keeper.full_clean()
    keeper.save()
    return keeper


@transaction.atomic
def forget_keeper(keeper: Keeper, *, by: Any) -> Keeper:
    """Erase name and phone; what was done to the vehicles stays, without a person in it."""
    if keeper.erased_at is None:
        keeper.name = keeper.phone = ""
        keeper.erased_at = timezone.now()
        keeper.save(update_fields=["name", "phone", "erased_at"])
        _erase_signatures(keeper)
        record_changes([(keeper, f"keeper {keeper.key} forgotten", {}, {})], by=by)
    return keeper


def _erase_signatures(keeper: Keeper) -> None:
    """Who agreed or declined is a name too, on the jobs of the vehicles this keeper brought."""
    for record in (Approval, Declined):
        record.objects.filter(job__vehicle__keeper=keeper).exclude(who="").update(who="erased")


@transaction.atomic
def name_keeper(
    vehicle: Vehicle, *, name: str, phone: str, somebody_else: bool = False
) -> Keeper | None:
    """Write down who brings a vehicle, or correct it; without a name and a phone nobody does.

    A correction holds for all vehicles of that keeper. `somebody_else`: the vehicle changed hands,
    and the keeper it had stays with the others.
    """
    had = vehicle.keeper
    if had and (had.name, had.phone) == (name.strip(), phone.strip()):
        return had
    if phone.strip() and not name.strip():
        raise ValidationError({"keeper_name": "Say whose phone it is, or leave the phone empty."})
    if not name.strip():
        keeper = None
    elif had is None or had.erased_at is not None or somebody_else:
        keeper = register_keeper(name=name, phone=phone)
    else:
        keeper = _corrected(had, name=name, phone=phone)
    vehicle.keeper = keeper
    vehicle.save(update_fields=["keeper"])
    return keeper


def _corrected(keeper: Keeper, *, name: str, phone: str) -> Keeper:
    keeper.name, keeper.phone = name.strip(), phone.strip()
    keeper.full_clean()
    keeper.save(update_fields=["name", "phone"])
    return keeper
