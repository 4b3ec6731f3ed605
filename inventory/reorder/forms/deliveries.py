"""Forms of a delivery: what came of each line, what came unordered, what it really cost."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from inventory.action_form import PostingForm
from inventory.catalog.models import Part
from inventory.reorder.actions.deliveries import Arrived
from inventory.reorder.forms.fields import DayField, MoneyField, typed_amount
from inventory.reorder.models import OrderLine
from inventory.reorder.unpacking import LARGEST, whole
from inventory.shop.models import ShopSettings

KEEP, BACK = "keep", "back"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """One order line on the page: its counts, and what is seldom filled in."""

    line: OrderLine
    pieces: forms.BoundField
    price: forms.BoundField
    more: list[forms.BoundField]
    counted: int

    @property
    def missing(self) -> int:
        return self.line.pieces_open - self.counted


class ReceiveForm(PostingForm):
    """What came of each line still open, and of parts that were not ordered."""

    note_number = forms.CharField(label="Delivery note", max_length=40, required=False)
    keep_more = forms.BooleanField(label="Keep what came beyond the order", required=False)
    query_price = forms.BooleanField(
        label="Query a price that differs",
        required=False,
        help_text="The parts go on the shelf at the new price; a correction revalues them.",
    )
    new_prices = forms.BooleanField(
        label="A price that differs is the new price",
        required=False,
        help_text="What the supplier offers from today on; it goes into the next orders.",
    )

    def __init__(
        self,
        lines: Sequence[OrderLine],
        others: Sequence[Part],
        shop: ShopSettings,
        *args: Any,
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.lines, self.unordered, self.shop = lines, others, shop
        for line in lines:
            self._add_line(line)
        for part in others:
            self._add_other(part)

    def _add_line(self, line: OrderLine) -> None:
        pk, part = line.pk, line.part
        self.fields[f"pieces_{pk}"] = _pieces(f"Pieces of {part} that came")
        self.fields[f"price_{pk}"] = MoneyField(
            self.shop,
            label=f"Price of a pack of {part}",
            required=False,
            initial=typed_amount(line.pack_price_cents, self.shop),
        )
        self.fields[f"rest_{pk}"] = forms.ChoiceField(
            label=f"The rest of {part}",
            choices=[("coming", "still coming"), ("withdrawn", "will not come")],
            required=False,
        )
        self.fields[f"made_{pk}"] = DayField(label=f"{part} made on", required=False)
        self.fields[f"code_{pk}"] = forms.CharField(
            label=f"Code printed on {part}", max_length=40, required=False
        )

    def _add_other(self, part: Part) -> None:
        self.fields[f"other_{part.pk}"] = _pieces(f"Pieces of {part}, not ordered")
        self.fields[f"value_{part.pk}"] = MoneyField(
            self.shop, label=f"Value of all {part}", required=False, help_text="Blank is 0."
        )
        self.fields[f"fate_{part.pk}"] = forms.ChoiceField(
            label=f"What becomes of {part}",
            choices=[(BACK, "Goes back"), (KEEP, "Kept")],
            required=False,
        )

    def rows(self) -> Iterator[LineRow]:
        for line in self.lines:
            pk = line.pk
            yield LineRow(
                line=line,
                pieces=self[f"pieces_{pk}"],
                price=self[f"price_{pk}"],
                more=[self[f"{name}_{pk}"] for name in ("rest", "made", "code")],
                counted=whole(self[f"pieces_{pk}"].value()),
            )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("query_price") and given.get("new_prices"):
            self.add_error("new_prices", "Query the prices or take them as new; not both.")
        return given

    def others(self) -> Iterator[tuple[Part, list[forms.BoundField]]]:
        for part in self.unordered:
            yield part, [self[f"{name}_{part.pk}"] for name in ("other", "value", "fate")]

    @property
    def counted(self) -> int:
        """Pieces counted so far, ordered or not."""
        names = [f"pieces_{line.pk}" for line in self.lines]
        names += [f"other_{part.pk}" for part in self.unordered]
        return sum(whole(self[name].value()) for name in names)

    def how(self) -> dict[str, Any]:
        names = ("key", "note_number", "keep_more", "query_price", "new_prices")
        return {name: self.cleaned_data[name] for name in names}

    def arrived(self) -> list[Arrived]:
        """The lines that a person filled in."""
        found = [self._arrived(line) for line in self.lines]
        found += [self._unordered(part) for part in self.unordered]
        return [line for line in found if line.pieces or line.rest_withdrawn]

    def _arrived(self, line: OrderLine) -> Arrived:
        given, pk = self.cleaned_data, line.pk
        return Arrived(
            part=line.part,
            order_line=line,
            pieces=given[f"pieces_{pk}"] or 0,
            pack_price_cents=given[f"price_{pk}"],
            rest_withdrawn=given[f"rest_{pk}"] == "withdrawn",
            made_on=given[f"made_{pk}"],
            maker_code=given[f"code_{pk}"],
        )

    def _unordered(self, part: Part) -> Arrived:
        given = self.cleaned_data
        return Arrived(
            part=part,
            pieces=given[f"other_{part.pk}"] or 0,
            value_cents=given[f"value_{part.pk}"] or 0,
            goes_back=given[f"fate_{part.pk}"] != KEEP,
        )


def _pieces(label: str) -> forms.IntegerField:
    field = forms.IntegerField(label=label, min_value=0, max_value=LARGEST, required=False)
    field.widget.attrs["inputmode"] = "numeric"
    return field


class PriceForm(PostingForm):
    """What a line of a delivery really cost."""

    was = forms.IntegerField(widget=forms.HiddenInput, min_value=0)

    def __init__(self, shop: ShopSettings, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.shop = shop
        self.fields["value"] = MoneyField(shop, label="What all of them cost")
