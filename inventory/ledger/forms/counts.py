"""Starting a count, writing down what was counted, and correcting the shelf to it."""

from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory.action_form import ActionForm
from inventory.catalog.models import Part
from inventory.ledger.forms.shelf import LARGEST, ShelfForm, cents_of, choice, money
from inventory.shop.models import Bin, ShopSettings, Site


class CountStartForm(ShelfForm):
    bins = forms.ModelMultipleChoiceField(
        Bin.objects.none(), label="Bins", required=False, widget=forms.CheckboxSelectMultiple
    )
    part = forms.CharField(label="Or one part, in all its bins", max_length=60, required=False)

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        choice(self, "bins").queryset = Bin.objects.filter(site=site)


class CountedForm(ShelfForm):
    part = forms.ModelChoiceField(Part.objects.counted(), widget=forms.HiddenInput)
    bin = forms.ModelChoiceField(Bin.objects.none(), required=False, widget=forms.HiddenInput)
    counted = forms.IntegerField(
        label="Sealed and checked pieces you see", min_value=0, max_value=LARGEST
    )
    seen = forms.TimeField(
        label="When you saw them, today",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}),
    )

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        choice(self, "bin").queryset = Bin.objects.filter(site=site)
        self.fields["counted"].widget.attrs |= {"autofocus": True, "inputmode": "numeric"}

    def clean_seen(self) -> datetime | None:
        """By the clock of the site; None for now."""
        said: time | None = self.cleaned_data["seen"]
        if said is None:
            return None
        seen = datetime.combine(self.shown_at.today(), said, ZoneInfo(self.shown_at.zone))
        if seen > timezone.now():
            raise ValidationError(f"{said:%H:%M} is still to come; write when you counted.")
        return seen


class SettleForm(ActionForm):
    """`sees_cost`: who may say what a found piece costs."""

    def __init__(self, *args: Any, shop: ShopSettings, sees_cost: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shop = shop
        if sees_cost:
            self.fields["unit_cost"] = money(
                shop.minor_digits, label="Cost of a piece", required=False
            )

    def unit_cents(self) -> int | None:
        return cents_of(self.cleaned_data.get("unit_cost"), self.shop)
