"""One input that a scanner fills in and ends with Enter; and linking a code nobody knows yet."""

from typing import Any

from django import forms

from inventory.action_form import PostingForm
from inventory.catalog.models import CodeKind, Part
from inventory.ledger.forms.shelf import ShelfForm, choice


class ScanForm(ShelfForm):
    code = forms.CharField(label="Scan or type a code", max_length=60)
    occasion = forms.CharField(label="For", max_length=40, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].widget.attrs |= {
            "autofocus": True,
            "autocomplete": "off",
            "autocapitalize": "off",
            "spellcheck": "false",
            "enterkeyhint": "done",
        }


class LinkForm(PostingForm):
    code = forms.CharField(widget=forms.HiddenInput, max_length=60)
    part = forms.ModelChoiceField(Part.objects.none(), label="Part", empty_label=None)
    kind = forms.ChoiceField(
        label="What kind of code", choices=CodeKind.choices, initial=CodeKind.PRINTED
    )

    def __init__(self, *args: Any, found: list[Part], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choice(self, "part").queryset = Part.objects.filter(pk__in=[part.pk for part in found])
