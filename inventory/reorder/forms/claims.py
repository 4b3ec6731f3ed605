"""Forms of claims: a part claimed by hand, the box that goes out, the supplier's answer."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import ActionForm, PostingForm
from inventory.reorder.forms.fields import DayField, MoneyField, PartCodeField
from inventory.reorder.models import Claim, Supplier
from inventory.shop.models import ShopSettings


class NewClaimForm(PostingForm):
    """A part that came off a vehicle and that no job has claimed by itself."""

    part = PartCodeField()
    supplier = forms.ModelChoiceField(Supplier.objects.all(), empty_label="Choose a supplier")
    failed_on = DayField()
    fitted_on = DayField(required=False, help_text="With it, the warranty says until when.")
    job_key = forms.CharField(label="Job on which it failed", max_length=40, required=False)
    odometer_km = forms.IntegerField(label="Odometer, km", min_value=0, required=False)
    printed_code = forms.CharField(label="Code as printed", max_length=40, required=False)
    claim_by = DayField(label="Claim by", required=False)


class SendClaimsForm(ActionForm):
    """The claims that go into one box."""

    claims = forms.ModelMultipleChoiceField(
        Claim.objects.for_claim_list(),
        required=False,
        error_messages={"invalid_choice": "One of these claims is not there; open the list again."},
    )


class AnswerForm(ActionForm):
    """What the supplier said: an amount credited, or a refusal."""

    CREDITED, REFUSED = "credited", "refused"

    answer = forms.ChoiceField(
        choices=[(CREDITED, "Credited"), (REFUSED, "Refused")], initial=CREDITED
    )
    on = DayField(label="Answered on")
    words = forms.CharField(label="What the supplier said", max_length=200, required=False)

    field_order = ["answer", "credit", "on", "words"]

    def __init__(self, shop: ShopSettings, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.shop = shop
        self.fields["credit"] = MoneyField(
            shop, label="Credit", required=False, help_text="Blank when refused."
        )
        self.order_fields(self.field_order)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        credited = given.get("answer") == self.CREDITED
        if credited and given.get("credit") == 0:
            raise ValidationError("A credit of 0 is a refusal; give the amount, or say refused.")
        if credited and given.get("credit") is None and "credit" not in self.errors:
            raise ValidationError("A credit needs its amount; give it, or say refused.")
        if given.get("answer") == self.REFUSED and given.get("credit"):
            raise ValidationError("A refused claim has no credit; leave the amount blank.")
        return given

    def settled(self) -> dict[str, Any]:
        given = self.cleaned_data
        return {
            "credit_cents": given["credit"] or 0,
            "on": given["on"],
            "words": given["words"],
        }
