"""The list of shelves at one site."""

from typing import Any

import django_tables2 as tables
from django.db.models import F, Q
from django.urls import reverse
from django.utils.html import format_html

from inventory.ledger.models import Shelf

# The words above the list; each keeps its state in the address.
SHOWN = {
    "": ("On the shelf", Q(on_hand__gt=0)),
    "none": ("None left", Q(on_hand=0)),
    "promised": ("Promised to jobs", Q(held__gt=0)),
    "apart": ("Not for sale", Q(on_hand__gt=F("usable"))),
}
NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}
WIDE, WHOLE = {"td": {"class": "wide"}}, {"td": {"class": "whole"}}


class ShelfTable(tables.Table):  # type: ignore[misc]  # the library is untyped
    part = tables.Column(order_by="part__number", attrs=WHOLE)
    words = tables.Column(accessor="part__words", verbose_name="Description", attrs=WIDE)
    kind = tables.Column(
        accessor="part__get_kind_display", order_by="part__kind", verbose_name="Kind"
    )
    free = tables.Column(
        accessor="available", verbose_name="Free", attrs=NUMBER, order_by="-usable"
    )
    held = tables.Column(verbose_name="Promised", attrs=NUMBER)
    on_hand = tables.Column(verbose_name="In all", attrs=NUMBER)
    bins = tables.Column(accessor="lots_left", verbose_name="Bin", orderable=False, attrs=WHOLE)

    class Meta:
        model = Shelf
        fields = ("part", "words", "kind", "free", "held", "on_hand", "bins")
        order_by = "part"
        empty_text = "Nothing of the kind here. What is received, counted or sent here then shows."
        attrs = {"aria_label": "Shelves", "class": "stack"}

    def render_part(self, record: Shelf) -> str:
        address = reverse("inventory:part_shelf", args=[record.part_id])
        return format_html('<a href="{}">{}</a>', address, record.part.number)

    def render_bins(self, value: list[Any]) -> str:
        return ", ".join(dict.fromkeys(lot.bin.code for lot in value if lot.bin))
