"""Fields that forms share: a part by any of its codes, amounts of money, pressures, torques."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.catalog.models import Part
from inventory.catalog.names import parts_coded
from inventory.shop.amounts import amount_text
from inventory.shop.models import PressureUnit, ShopSettings, TorqueUnit
from inventory.shop.units import pressure_in, torque_in, whole_cnm, whole_kpa


class PartCodeField(forms.CharField):
    """Any code of a part, typed or scanned; cleans to the part."""

    def __init__(self, *, label: str = "Part, any code", **options: Any) -> None:
        super().__init__(max_length=60, label=label, **options)

    def clean(self, value: Any) -> Any:
        code = super().clean(value)
        return self._part(code) if code else None

    def _part(self, code: str) -> Part:
        found = parts_coded(code, limit=2)
        if not found:
            raise ValidationError(f"No part has the code “{code}”; check it or search by words.")
        if len(found) > 1:
            raise ValidationError(
                f"Several parts have the code “{code}”; give the part's own number instead."
            )
        return found[0]


class MoneyField(forms.DecimalField):
    """An amount as the shop writes it; cleans to minor units."""

    def __init__(self, shop: ShopSettings, **options: Any) -> None:
        self.shop = shop
        super().__init__(min_value=0, max_digits=9, decimal_places=shop.minor_digits, **options)

    def clean(self, value: Any) -> Any:
        amount = super().clean(value)
        return None if amount is None else int(amount.scaleb(self.shop.minor_digits))


class UnitField(forms.DecimalField):
    """An amount in the shop's unit, kept as a whole number of the records' own."""

    def __init__(
        self,
        unit: PressureUnit | TorqueUnit,
        *,
        kept: Callable[[Decimal, str], int],
        shown: Callable[[str, int], Decimal],
        **options: Any,
    ) -> None:
        self.unit, self.kept, self.shown = unit, kept, shown
        super().__init__(min_value=0, max_digits=7, decimal_places=2, required=False, **options)

    def prepare_value(self, value: Any) -> Any:
        return self.shown(self.unit.value, value) if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return super().has_changed(self.prepare_value(initial), data)

    def clean(self, value: Any) -> Any:
        said = super().clean(value)
        return None if said is None else self.kept(said, self.unit.value)


def pressure_field(shop: ShopSettings, label: str) -> UnitField:
    unit = PressureUnit(shop.pressure_unit)
    return UnitField(unit, kept=whole_kpa, shown=pressure_in, label=label)


def torque_field(shop: ShopSettings, label: str) -> UnitField:
    unit = TorqueUnit(shop.torque_unit)
    return UnitField(unit, kept=whole_cnm, shown=torque_in, label=label)


class DayField(forms.DateField):
    """A day picked or typed; the browser hands it over as year, month, day."""

    def __init__(self, **options: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, **options)


def name_blank(field: forms.Field, words: str = "Not known") -> None:
    """What a list says where nothing is chosen yet."""
    choices = getattr(field, "choices", None)
    if choices and (blank := next(iter(choices)))[0] in {"", None}:
        field.choices = [(blank[0], words), *list(choices)[1:]]  # type: ignore[attr-defined]


def typed_amount(cents: int | None, shop: ShopSettings) -> str | None:
    """An amount as a person would type it: no thousands apart."""
    return None if cents is None else amount_text(cents, shop).replace(",", "")
