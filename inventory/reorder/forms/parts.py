"""What the parts manager fills in about a part itself."""

from django import forms

from inventory.action_form import ActionForm
from inventory.reorder.forms.fields import PartCodeField


class SupersedeForm(ActionForm):
    new = PartCodeField(label="Replaced by, any code")
    both_ways = forms.BooleanField(
        label="Either serves for the other",
        required=False,
        help_text="Without this the old one is no longer offered in place of the new.",
    )
    since = forms.DateField(required=False, help_text="Such as 2026-03-09.")
    note = forms.CharField(max_length=120, required=False)
