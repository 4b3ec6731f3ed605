"""The log of changes as its page shows it: each field in words, old → new."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import models

from inventory.shop.amounts import money_text
from inventory.shop.models import Change, ShopSettings

GROUPS: dict[str, tuple[str, ...]] = {
    "prices": (
        "inventory.SellingPrice",
        "inventory.Part",
        "inventory.Offer",
        "inventory.OfferBreak",
        "jobs.JobLine",
    ),
    "policy": (
        "inventory.ShopSettings",
        "inventory.Site",
        "inventory.Bin",
        "inventory.Supplier",
        "jobs.Account",
    ),
    "people": ("shopparts.User",),
}
"""Words above the list, and the kinds of record that each picks out."""

Field = models.Field[Any, Any] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """One field of a change, in words; nothing before where the record was new."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLine:
    change: Change
    fields: list[Edited]


def change_lines(changes: Sequence[Change]) -> list[ChangeLine]:
    """Lines of the log; what a number in it refers to is looked up once a kind of record."""
    named = _Named(changes)
    return [ChangeLine(change=change, fields=_edited(change, named)) for change in changes]


def _edited(change: Change, named: "_Named") -> list[Edited]:
    names = dict.fromkeys([*change.before, *change.after])
    return [
        Edited(
            name=_name(name, field),
            before=named.say(name, field, change.before.get(name)) if change.before else "",
            after=named.say(name, field, change.after.get(name)),
        )
        for name, field in ((name, _field(change.kind, name)) for name in names)
        if change.before or change.after[name] not in (None, "")
    ]


def _field(kind: str, name: str) -> Field:
    """The field of this name, or of this column; None where the record has it no more."""
    try:
        fields = apps.get_model(kind)._meta.concrete_fields
    except LookupError:
        return None
    return next((field for field in fields if name in {field.name, field.attname}), None)


def _name(name: str, field: Field) -> str:
    words = str(field.verbose_name) if field else name.replace("_", " ")
    return words.removesuffix(" cents")


class _Named:
    """Says values; references by the record's own words, read a kind at a time."""

    def __init__(self, changes: Sequence[Change]) -> None:
        self._shop = ShopSettings.load()
        wanted: dict[Any, set[Any]] = defaultdict(set)
        for change in changes:
            for name in {*change.before, *change.after}:
                field = _field(change.kind, name)
                if field is not None and field.related_model:
                    wanted[field.related_model] |= {
                        change.before.get(name),
                        change.after.get(name),
                    }
        self._found = {
            model: model._default_manager.in_bulk([pk for pk in pks if isinstance(pk, int)])
            for model, pks in wanted.items()
        }

    def say(self, name: str, field: Field, value: Any) -> str:
        if value is None or value == "":
            return "blank"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if field is not None and field.related_model:
            return str(self._found[field.related_model].get(value, value))
        if name.endswith("_cents") and isinstance(value, int):
            return money_text(value, self._shop)
        choices = dict(field.flatchoices) if field is not None else {}
        return str(choices.get(value, value))
