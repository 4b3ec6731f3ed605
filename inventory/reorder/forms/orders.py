"""Forms of the order pages: a draft's packs, a part added by hand, and what a delivery brought."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import ActionForm, PostingForm
from inventory.reorder.actions.deliveries import Arrived
from inventory.reorder.forms.fields import MoneyField, PartCodeField
from inventory.reorder.models import OrderLine
from inventory.shop.amounts import amount_text
from inventory.shop.models import ShopSettings


class DraftForm(ActionForm):
    """One number of packs for every line of a draft; 0 takes the line off."""

    def __init__(self, lines: Sequence[OrderLine], *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.lines = lines
        for line in lines:
            self.fields[f"packs_{line.pk}"] = forms.IntegerField(
                label=f"Packs of {line.part}", min_value=0, max_value=99_999, initial=line.packs
            )

    def rows(self) -> Iterator[tuple[OrderLine, forms.BoundField]]:
        for line in self.lines:
            yield line, self[f"packs_{line.pk}"]

    def packs(self) -> dict[int, int]:
        return {line.pk: self.cleaned_data[f"packs_{line.pk}"] for line in self.lines}


class AddPartForm(ActionForm):
    part = PartCodeField()
    pieces = forms.IntegerField(min_value=1, max_value=99_999, initial=1)
    job_key = forms.CharField(label="For job", max_length=40, required=False)
    wish = forms.BooleanField(
        label="Customer's own choice of make or look",
        required=False,
        help_text="Leaves the reorder point alone.",
    )


class ReceiveForm(PostingForm):
    """What came of each line still open, and at most one part that was not ordered."""

    HEADS = {"pieces": "Pieces that came", "price": "Price of a pack", "rest": "The rest"}

    note_number = forms.CharField(label="Delivery note", max_length=40, required=False)
    keep_more = forms.BooleanField(label="Keep what came beyond the order", required=False)
    query_price = forms.BooleanField(
        label="Query a price that differs",
        required=False,
        help_text="The parts go on the shelf at the new price; a correction revalues them.",
    )
    other_part = PartCodeField(label="Part not ordered, any code", required=False)
    other_pieces = forms.IntegerField(label="Pieces of it", min_value=1, required=False)

    def __init__(
        self, lines: Sequence[OrderLine], shop: ShopSettings, *args: Any, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.lines = lines
        for line in lines:
            self._add_line(line, shop)
        self.fields["other_value"] = MoneyField(shop, label="Its value", required=False)

    def _add_line(self, line: OrderLine, shop: ShopSettings) -> None:
        price = line.pack_price_cents
        self.fields[f"pieces_{line.pk}"] = forms.IntegerField(
            label=f"Pieces of {line.part} that came", min_value=0, max_value=99_999, required=False
        )
        self.fields[f"price_{line.pk}"] = MoneyField(
            shop,
            label=f"Price of a pack of {line.part}",
            required=False,
            initial=None if price is None else amount_text(price, shop).replace(",", ""),
        )
        self.fields[f"rest_{line.pk}"] = forms.ChoiceField(
            label=f"The rest of {line.part}",
            choices=[("coming", "still coming"), ("withdrawn", "will not come")],
            required=False,
        )

    def rows(self) -> Iterator[tuple[OrderLine, list[tuple[forms.BoundField, str]]]]:
        """Each line with its fields and the heads of their columns."""
        for line in self.lines:
            yield line, [(self[f"{name}_{line.pk}"], head) for name, head in self.HEADS.items()]

    def others(self) -> list[forms.BoundField]:
        return [self[name] for name in ("other_part", "other_pieces", "other_value")]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        other = [given.get(name) for name in ("other_part", "other_pieces", "other_value")]
        if any(value is not None for value in other) and None in other:
            raise ValidationError(
                "A part that was not ordered needs its code, its pieces and its value; "
                "give all three or none."
            )
        return given

    def how(self) -> dict[str, Any]:
        names = ("key", "note_number", "keep_more", "query_price")
        return {name: self.cleaned_data[name] for name in names}

    def arrived(self) -> list[Arrived]:
        """The lines that a person filled in."""
        given = self.cleaned_data
        found = [self._arrived(line) for line in self.lines]
        if given["other_part"]:
            found.append(
                Arrived(
                    part=given["other_part"],
                    pieces=given["other_pieces"],
                    value_cents=given["other_value"],
                )
            )
        return [line for line in found if line.pieces or line.rest_withdrawn]

    def _arrived(self, line: OrderLine) -> Arrived:
        given = self.cleaned_data
        return Arrived(
            part=line.part,
            order_line=line,
            pieces=given[f"pieces_{line.pk}"] or 0,
            pack_price_cents=given[f"price_{line.pk}"],
            rest_withdrawn=given[f"rest_{line.pk}"] == "withdrawn",
        )
