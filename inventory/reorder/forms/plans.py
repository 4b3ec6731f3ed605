"""What a person asks of a plan."""

from typing import Any

from django import forms

from inventory.reorder.forms.fields import MoneyField
from inventory.shop.models import ShopSettings


class BudgetForm(forms.Form):
    """How much money the shelf may hold on average."""

    def __init__(self, shop: ShopSettings, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["budget"] = MoneyField(
            shop, label="Money on the shelf on average", required=False
        )

    @property
    def budget_cents(self) -> int | None:
        cents: int | None = self.cleaned_data["budget"] if self.is_valid() else None
        return cents
