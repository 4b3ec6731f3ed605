"""A goal of a part's own, as the page of its plan line asks for it."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import ActionForm
from inventory.reorder.models import GoalKind, PartGoal
from inventory.shop.models import Site

NEEDED = {
    GoalKind.PERCENT: "Give the percent of jobs to be served from the shelf, from 1 to 99.",
    GoalKind.AT_LEAST: "Give the number of pieces that are always kept, at least 1.",
}


class GoalForm(ActionForm):
    kind = forms.ChoiceField(label="Goal", choices=GoalKind.choices)
    amount = forms.IntegerField(
        label="Percent or pieces", required=False, help_text="Blank where it is bought when asked."
    )
    words = forms.CharField(label="Why", max_length=120)
    everywhere = forms.BooleanField(label="At every site", required=False)

    def __init__(self, had: PartGoal | None, sites: list[Site], *args: Any, **options: Any) -> None:
        if had is not None:
            options["initial"] = {"kind": had.kind, "amount": had.amount, "words": had.words}
        super().__init__(*args, **options)
        if len(sites) < 2:
            del self.fields["everywhere"]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        kind, amount = given.get("kind"), given.get("amount")
        most = 99 if kind == GoalKind.PERCENT else 9_999
        if "amount" not in self.errors and kind in NEEDED and not 1 <= (amount or 0) <= most:
            self.add_error("amount", ValidationError(NEEDED[GoalKind(kind)]))
        return given

    def chosen(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("kind", "amount", "words")}
