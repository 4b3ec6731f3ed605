"""Forms of a supplier: its terms, and pieces of a lot that go back to it."""

from typing import Any

from django import forms

from inventory.action_form import PostingForm
from inventory.ledger.models import Lot
from inventory.reorder.forms.fields import MoneyField, typed_amount
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
