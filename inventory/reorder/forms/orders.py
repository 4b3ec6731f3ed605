"""Forms of the order pages: a draft's packs, and a part added by hand."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms

from inventory.action_form import ActionForm
from inventory.reorder.forms.fields import PartCodeField
from inventory.reorder.models import OrderLine


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
