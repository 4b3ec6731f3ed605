"""What the parts manager fills in about a part itself."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.models import fields_for_model

from inventory.action_form import ActionForm
from inventory.catalog.entries import entry_named
from inventory.catalog.models import Application, Axle, CodeKind, Part
from inventory.reorder.forms.fields import (
    MoneyField,
    PartCodeField,
    name_blank,
    pressure_field,
    torque_field,
    typed_amount,
)
from inventory.shop.models import ShopSettings

GROUPS = (
    ("What it is", ("number", "kind", "maker", "words", "list_price_cents")),
    (
        "Radio and valve",
        (
            "band_315",
            "band_433",
            "band_other",
            "mounting",
            "hole",
            "construction",
            "universal",
            "rated_pressure_kpa",
        ),
    ),
    (
        "Fitting it",
        (
            "preparation",
            "preparation_minutes",
            "new_id",
            "valve_nut_torque_cnm",
            "body_screw_torque_cnm",
            "core_torque_cnm",
        ),
    ),
    ("On the shelf", ("counted", "shelf_life_months")),
)
FACTS = tuple(name for _, names in GROUPS for name in names)
HELP = {
    "number": "Under which you list it; codes by which others know it come below.",
    "kind": "A sensor body or assembly needs a band.",
    "rated_pressure_kpa": "For a snap-in valve: the highest cold pressure. Blank: not known.",
    "universal": "It is programmed for the vehicle it goes on.",
    "valve_nut_torque_cnm": "As its maker says. Blank: it is said to be looked up.",
    "counted": "Caps and cores are often not counted.",
}
LONGEST_CODE = 60


class PartForm(ActionForm):
    """The facts of a part and the codes it is known by."""

    def __init__(self, *args: Any, part: Part, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        measured: dict[str, forms.Field] = {
            "list_price_cents": MoneyField(
                shop,
                label="List price",
                required=False,
                help_text="Your own selling prices go before it.",
            ),
            "rated_pressure_kpa": pressure_field(shop, "Rated pressure"),
            "valve_nut_torque_cnm": torque_field(shop, "Valve nut"),
            "body_screw_torque_cnm": torque_field(shop, "Body screw"),
            "core_torque_cnm": torque_field(shop, "Valve core"),
        }
        self.fields = fields_for_model(Part, fields=FACTS, help_texts=HELP) | measured
        for name in ("rated_pressure_kpa", "valve_nut_torque_cnm"):
            self.fields[name].help_text = HELP[name]
        self.initial = {name: getattr(part, name) for name in FACTS} | dict(self.initial)
        self.initial["list_price_cents"] = typed_amount(part.list_price_cents, shop)
        self.units = {"list_price_cents": shop.currency} | {
            name: str(field.unit.label)
            for name, field in self.fields.items()
            if hasattr(field, "unit")
        }
        for name in ("kind", "mounting", "hole"):
            name_blank(self.fields[name], "Choose" if name == "kind" else "Not known")
        for kind in CodeKind:
            self.fields[f"code_{kind.value}"] = forms.CharField(label=kind.label, required=False)

    def groups(self) -> Iterator[tuple[str, list[tuple[forms.BoundField, str]]]]:
        for title, names in GROUPS:
            yield title, [(self[name], self.units.get(name, "")) for name in names]

    def code_fields(self) -> list[forms.BoundField]:
        return [self[f"code_{kind.value}"] for kind in CodeKind]

    def clean(self) -> dict[str, Any]:
        for kind in CodeKind:
            for code in self._codes(kind):
                if len(code) > LONGEST_CODE:
                    self.add_error(
                        f"code_{kind.value}",
                        f"“{code[:20]}…” has {len(code)} characters; write at most {LONGEST_CODE}.",
                    )
        return self.cleaned_data

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in FACTS}

    def codes(self) -> list[tuple[str, str]]:
        return [(kind.value, code) for kind in CodeKind for code in self._codes(kind)]

    def _codes(self, kind: CodeKind) -> list[str]:
        said = self.cleaned_data.get(f"code_{kind.value}", "").replace(";", ",").split(",")
        return [code.strip() for code in said if code.strip()]


class NewPartForm(PartForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fits"] = EntriesField(
            label="Entries it serves, one a line",
            required=False,
            help_text="Year, make and model, or our key; on all wheels. Leave blank to list it "
            "later.",
        )


class NamedEntryField(forms.CharField):
    """Year, make and model, or a key; cleans to the one entry they name."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return entry_named(text) if text else None


class EntriesField(forms.CharField):
    """Entries, one a line."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=5_000, widget=forms.Textarea(attrs={"rows": 3}), **options)

    def clean(self, value: Any) -> list[Application]:
        lines = [line.strip() for line in super().clean(value).splitlines()]
        faults: list[str] = []
        found: dict[int, Application] = {}
        for line in filter(None, lines):
            try:
                entry = entry_named(line)
                found[entry.pk] = entry
            except ValidationError as refusal:
                faults += refusal.messages
        if faults:
            raise ValidationError(faults)
        return list(found.values())


class ListingForm(ActionForm):
    """How a part serves an entry."""

    axle = forms.ChoiceField(label="Wheels", choices=Axle.choices, initial=Axle.ALL)
    rank = forms.IntegerField(
        label="Preference", min_value=1, max_value=99, initial=1, help_text="1 is offered first."
    )
    quantity = forms.IntegerField(label="Pieces a wheel", min_value=1, max_value=20, initial=1)
    prepared_as = forms.CharField(label="Program as", max_length=80, required=False)


class FitsForm(ListingForm):
    """One more entry that a part serves."""

    application = NamedEntryField(
        label="Vehicle", max_length=120, help_text="Year, make and model, or our key."
    )
    field_order = ("application",)


class SupersedeForm(ActionForm):
    new = PartCodeField(label="Replaced by, any code")
    both_ways = forms.BooleanField(
        label="Either serves for the other",
        required=False,
        help_text="Without this the old one is no longer offered in place of the new.",
    )
    since = forms.DateField(required=False, help_text="Such as 2026-03-09.")
    note = forms.CharField(max_length=120, required=False)
