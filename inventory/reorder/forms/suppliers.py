"""Forms of a supplier: its terms, and pieces of a lot that go back to it."""

from typing import Any

from django import forms

from inventory.action_form import ActionForm, PostingForm
from inventory.ledger.models import Lot
from inventory.reorder.actions.prices import NewPrice
from inventory.reorder.forms.fields import DayField, MoneyField, PartCodeField, typed_amount
from inventory.reorder.models import Supplier
from inventory.reorder.supplier_page import lots_brought
from inventory.shop.models import ShopSettings

MONEY = ("order_cost_cents", "freight_cents", "freight_free_from_cents")


class SupplierForm(forms.ModelForm[Supplier]):
    class Meta:
        model = Supplier
        fields = (
            "code",
            "name",
            "contact",
            "our_number",
            "order_days",
            "cut_off",
            "stated_lead_days",
            *MONEY,
        )

    def __init__(self, shop: ShopSettings, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["cut_off"].widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
        for name in MONEY:
            self.fields[name] = MoneyField(
                shop,
                label=f"{str(self.fields[name].label).capitalize()}, {shop.currency}",
                required=name != "freight_free_from_cents",
            )
            self.initial[name] = typed_amount(getattr(self.instance, name), shop)


class OfferForm(ActionForm):
    """What a supplier asks for one part."""

    part = PartCodeField()
    supplier_code = forms.CharField(label="Its number for it", max_length=60, required=False)
    pack = forms.IntegerField(label="Pieces in a pack", min_value=1, max_value=99_999, initial=1)
    minimum_packs = forms.IntegerField(
        label="At least, packs", min_value=1, max_value=9_999, initial=1
    )
    valid_from = DayField(label="From")
    returnable_days = forms.IntegerField(
        label="Goes back within, days",
        min_value=0,
        max_value=3_650,
        initial=0,
        help_text="0: it cannot go back.",
    )
    warranty_months = forms.IntegerField(
        label="Warranty, months", min_value=0, max_value=240, initial=0
    )
    field_order = ("part", "supplier_code", "pack", "price")

    def __init__(self, shop: ShopSettings, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["price"] = MoneyField(shop, label=f"Price of a pack, {shop.currency}")
        self.order_fields(self.field_order)

    def price(self) -> NewPrice:
        said = self.cleaned_data
        return NewPrice(
            part=said["part"],
            pack_price_cents=said["price"],
            pack=said["pack"],
            minimum_packs=said["minimum_packs"],
            supplier_code=said["supplier_code"],
        )

    def terms(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("returnable_days", "warranty_months")}


class SendBackForm(PostingForm):
    """Pieces of one lot that go back to who brought it."""

    lot = forms.ModelChoiceField(
        Lot.objects.none(),
        widget=forms.HiddenInput,
        error_messages={
            "invalid_choice": "Another supplier brought that lot; choose one of these."
        },
    )
    pieces = forms.IntegerField(min_value=1, max_value=99_999)

    def __init__(self, supplier: Supplier, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        lot = self.fields["lot"]
        assert isinstance(lot, forms.ModelChoiceField)
        lot.queryset = lots_brought(supplier).select_related("shelf__part", "shelf__site")
