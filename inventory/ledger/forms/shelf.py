"""What a person fills in to issue, receive and count; each is posted once by its own key."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import PostingForm
from inventory.shop.models import Bin, ShopSettings, Site

LARGEST = 100_000


class ShelfForm(PostingForm):
    """Posts at the site it was shown for, even if another was chosen meanwhile in another tab."""

    site = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shown_at = site
        self.fields["site"].initial = site.pk


def choice(form: forms.Form, name: str) -> "forms.ModelChoiceField[Any]":
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)
    return field


class IssueForm(ShelfForm):
    pieces = forms.IntegerField(min_value=1, max_value=LARGEST, initial=1)
    occasion = forms.CharField(
        label="For", max_length=40, required=False, help_text="A job, or why it leaves the shelf."
    )


class AtBinForm(ShelfForm):
    """A form that offers the bins of its site and money in the shop's currency."""

    bin = forms.ModelChoiceField(Bin.objects.none(), required=False, empty_label="No bin")

    def __init__(self, *args: Any, site: Site, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        self.shop = shop
        choice(self, "bin").queryset = Bin.objects.filter(site=site)

    def cents(self, field: str) -> int | None:
        return cents_of(self.cleaned_data.get(field), self.shop)


def cents_of(value: Decimal | None, shop: ShopSettings) -> int | None:
    return None if value is None else int(value.scaleb(shop.minor_digits))


def money(digits: int, **options: Any) -> forms.DecimalField:
    return forms.DecimalField(min_value=0, max_digits=12, decimal_places=digits, **options)


class ReceiveForm(AtBinForm):
    pieces = forms.IntegerField(min_value=1, max_value=LARGEST)
    came_from = forms.CharField(label="From", max_length=80, required=False)
    maker_code = forms.CharField(label="Code as printed", max_length=40, required=False)
    made_on = forms.DateField(
        label="Made on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )

    field_order = ["pieces", "value", "bin", "came_from", "maker_code", "made_on"]

    def __init__(self, *args: Any, site: Site, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, site=site, shop=shop, **kwargs)
        self.fields["value"] = money(shop.minor_digits, label="Cost of all of them")
        self.order_fields(self.field_order)

    def clean_made_on(self) -> date | None:
        made: date | None = self.cleaned_data["made_on"]
        if made and made > self.shown_at.today():
            raise ValidationError(f"{made} is still to come; write the day it was made.")
        return made


class CountForm(AtBinForm):
    counted = forms.IntegerField(
        label="Sealed and checked pieces you counted", min_value=0, max_value=LARGEST
    )

    field_order = ["bin", "counted", "unit_cost"]

    def __init__(
        self, *args: Any, site: Site, shop: ShopSettings, sees_cost: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, site=site, shop=shop, **kwargs)
        choice(self, "bin").empty_label = "All bins together"
        if sees_cost:
            self.fields["unit_cost"] = money(
                shop.minor_digits,
                label="Cost of a piece",
                required=False,
                help_text="Only for more than there were, of a part never bought.",
            )
        self.order_fields(self.field_order)
