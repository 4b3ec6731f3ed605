"""The bands and the margin aimed at, typed by the owner; they stand in the address."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.reorder.forms.fields import MoneyField
from inventory.shop.models import ShopSettings
from jobs.costing.prices import PriceBand
from jobs.review.bands import LIMITS_CENTS

LEAST_AIM, MOST_AIM = 1, 95


class BandForm(forms.Form):
    """Fields up_0, markup_0, up_1 and so on; the last band is open and has no `up`."""

    aim = forms.IntegerField(label="Margin to aim at", min_value=LEAST_AIM, max_value=MOST_AIM)

    def __init__(self, data: Any = None, *, shop: ShopSettings) -> None:
        super().__init__(data, auto_id="id_%s")
        self.shop = shop
        for number, limit in enumerate(LIMITS_CENTS):
            if limit is not None:
                self.fields[f"up_{number}"] = MoneyField(shop, label="Costs up to")
            self.fields[f"markup_{number}"] = forms.IntegerField(
                label="Markup", min_value=0, max_value=2000
            )

    @property
    def rows(self) -> list[tuple[Any, Any]]:
        """The two fields of each band; the first is missing from the last."""
        return [
            (self[f"up_{n}"] if f"up_{n}" in self.fields else None, self[f"markup_{n}"])
            for n in range(len(LIMITS_CENTS))
        ]

    def bands(self) -> list[PriceBand]:
        said = self.cleaned_data
        return [
            PriceBand(up_to_cents=said.get(f"up_{n}"), markup_percent=said[f"markup_{n}"])
            for n in range(len(LIMITS_CENTS))
        ]


def first_values(bands: Sequence[PriceBand], aim: int, shop: ShopSettings) -> dict[str, str]:
    """What the form holds before anybody typed."""
    values = {"aim": str(min(max(aim, LEAST_AIM), MOST_AIM))}
    for number, band in enumerate(bands):
        values[f"markup_{number}"] = str(band.markup_percent)
        if band.up_to_cents is not None:
            amount = band.up_to_cents / 10**shop.minor_digits
            values[f"up_{number}"] = f"{amount:.{shop.minor_digits}f}"
    return values
