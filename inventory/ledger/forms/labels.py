"""Which labels to print, on which sheet."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.catalog.models import Part
from inventory.catalog.names import parts_coded
from inventory.ledger.forms.shelf import choice
from inventory.ledger.labels import SHEETS, Label, LabelSheet, bin_label, part_label
from inventory.shop.models import Bin, Site

MOST = 1000


class LabelForm(forms.Form):
    sheet = forms.ChoiceField(
        label="Sheet", choices=[(name, sheet.title) for name, sheet in SHEETS.items()]
    )
    used = forms.IntegerField(
        label="Labels already used on the first sheet", min_value=0, max_value=29, initial=0
    )
    copies = forms.IntegerField(label="Of each", min_value=1, max_value=50, initial=1)
    bins = forms.ModelMultipleChoiceField(
        Bin.objects.none(), label="Bins", required=False, widget=forms.CheckboxSelectMultiple
    )
    parts = forms.CharField(
        label="Parts, one number or code a line",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choice(self, "bins").queryset = Bin.objects.filter(site=site).select_related("site")

    def clean_parts(self) -> list[Part]:
        lines = [line.strip() for line in self.cleaned_data["parts"].splitlines()]
        if len(lines) > MOST:
            raise ValidationError(f"{len(lines)} lines are too many; print {MOST} at a time.")
        found = {line: parts_coded(line) for line in lines if line}
        if odd := [line for line, parts in found.items() if len(parts) != 1]:
            raise ValidationError(f"“{odd[0]}” is not the number of one part; correct that line.")
        pks = [parts[0].pk for parts in found.values()]
        by_pk = Part.objects.prefetch_related("codes").in_bulk(pks)
        return [by_pk[pk] for pk in pks]

    def clean(self) -> None:
        said = self.cleaned_data
        if not said.get("bins") and not said.get("parts") and not self.errors:
            raise ValidationError("Nothing to print was chosen; choose bins, or write parts.")
        if not self.errors and (count := len(self.labels())) > MOST:
            raise ValidationError(f"{count} labels are too many; print {MOST} at a time.")

    def chosen(self) -> LabelSheet:
        return SHEETS[self.cleaned_data["sheet"]]

    def labels(self) -> list[Label]:
        said = self.cleaned_data
        each = [*map(bin_label, said["bins"]), *map(part_label, said["parts"])]
        return [label for label in each for _ in range(said["copies"])]
