"""Returning, scrapping, moving, sending, promising, taking apart and putting together."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from inventory.action_form import PostingForm
from inventory.catalog.models import Part, PartKind
from inventory.ledger.forms.shelf import (
    LARGEST,
    AtBinForm,
    ShelfForm,
    cents_of,
    choice,
    money,
)
from inventory.ledger.models import Condition, Lot, Movement
from inventory.shop.amounts import day_text
from inventory.shop.models import Bin, ShopSettings, Site

LATEST_ISSUES = 30
DAYS_PROMISED = 7


def _pieces(**options: Any) -> forms.IntegerField:
    return forms.IntegerField(label="Pieces", min_value=1, max_value=LARGEST, **options)


class _LotChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # the stubs' own argument is bound late
    shop: ShopSettings

    def label_from_instance(self, obj: Lot) -> str:
        where = f"bin {obj.bin}" if obj.bin else "no bin"
        condition = f"{obj.get_condition_display()} {obj.prepared_for}".strip().lower()
        since = day_text(obj.received_on, self.shop)
        return f"{obj.pieces_left} × {condition}, {where}, since {since}"


class _IssueChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # as above
    shop: ShopSettings
    site: Site

    def label_from_instance(self, obj: Movement) -> str:
        on = day_text(self.site.day_of(obj.posting.happened_at), self.shop)
        occasion = obj.posting.occasion or "no job named"
        return f"{occasion}: {obj.pieces_out} of {-obj.pieces} out, {on}"


class _PiecesChoice(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # as above
    def label_from_instance(self, obj: Part) -> str:
        return obj.title


class _FromLotForm(AtBinForm):
    """A form about pieces that may be of one lot on a shelf."""

    lot = _LotChoice(Lot.objects.none(), label="From", required=False, empty_label="Oldest first")

    def __init__(
        self, *args: Any, part: Part, site: Site, shop: ShopSettings, **kwargs: Any
    ) -> None:
        super().__init__(*args, site=site, shop=shop, **kwargs)
        lots = choice(self, "lot")
        assert isinstance(lots, _LotChoice)
        lots.shop = shop
        here = Lot.objects.left().filter(shelf__part=part, shelf__site=site)
        lots.queryset = here.select_related("bin", "shelf__part", "shelf__site").oldest_first()


class ReturnForm(AtBinForm):
    issued = _IssueChoice(Movement.objects.none(), label="Issued for", empty_label=None)
    pieces = _pieces(initial=1)
    condition = forms.ChoiceField(
        label="How it comes back",
        choices=[
            (Condition.SEALED, "Sealed, as it left"),
            (Condition.OPENED, "Opened: not for sale until checked"),
            (Condition.PREPARED, "Prepared: kept for the same job"),
        ],
        widget=forms.RadioSelect,
    )

    field_order = ["issued", "pieces", "condition", "bin"]

    def __init__(
        self, *args: Any, part: Part, site: Site, shop: ShopSettings, **kwargs: Any
    ) -> None:
        super().__init__(*args, site=site, shop=shop, **kwargs)
        issues = choice(self, "issued")
        assert isinstance(issues, _IssueChoice)
        issues.shop, issues.site = shop, site
        out = Movement.objects.out_on_jobs().filter(part=part, site=site).order_by("-pk")
        latest = Movement.objects.out_on_jobs().filter(pk__in=out.values("pk")[:LATEST_ISSUES])
        issues.queryset = latest.select_related("posting", "part", "site", "lot").order_by("-pk")
        choice(self, "bin").empty_label = "The bin it came from, if sealed"


class ScrapForm(_FromLotForm):
    pieces = _pieces(initial=1)
    words = forms.CharField(label="Why", max_length=200)

    field_order = ["pieces", "words", "lot"]


class MoveForm(_FromLotForm):
    pieces = _pieces()
    to_site = forms.ModelChoiceField(
        Site.objects.selling(),
        label="Site or van",
        help_text="It lies there at once. What still has to travel is sent instead.",
    )
    condition = forms.ChoiceField(
        label="Condition", choices=[("", "As it is"), *Condition.choices], required=False
    )
    prepared_for = forms.CharField(label="Prepared for job", max_length=80, required=False)

    field_order = ["lot", "pieces", "bin", "to_site", "condition", "prepared_for"]

    def __init__(self, *args: Any, part: Part, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, part=part, site=site, **kwargs)
        lots = choice(self, "lot")
        lots.required, lots.empty_label = True, None
        choice(self, "bin").empty_label = "The same bin"
        self.fields["to_site"].initial = site.pk
        if len(found := list(lots.queryset or ())) == 1:
            self.fields["pieces"].initial = found[0].pieces_left


class SendForm(ShelfForm):
    pieces = _pieces(initial=1)
    to_site = forms.ModelChoiceField(Site.objects.none(), label="To", empty_label=None)
    borrowed = forms.BooleanField(label="Borrowed: to be sent back", required=False)

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        choice(self, "to_site").queryset = Site.objects.selling().exclude(pk=site.pk)


class HoldForm(ShelfForm):
    pieces = _pieces(initial=1)
    job_key = forms.CharField(label="For job", max_length=80)
    days = forms.IntegerField(
        label="For so many days", min_value=1, max_value=366, initial=DAYS_PROMISED
    )

    def __init__(self, *args: Any, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shop = shop
        self.fields["deposit"] = money(shop.minor_digits, label="Deposit taken", required=False)

    def deposit_cents(self) -> int:
        return cents_of(self.cleaned_data["deposit"], self.shop) or 0

    def expires_at(self) -> datetime:
        return timezone.now() + timedelta(days=self.cleaned_data["days"])


class CalledForm(PostingForm):
    days = forms.IntegerField(
        label="Days to collect", min_value=1, max_value=366, initial=DAYS_PROMISED
    )


class CollectForm(PostingForm):
    """As many pieces as were shown: sent twice, it is still the same issue."""

    pieces = _pieces()


class ArrivedForm(ShelfForm):
    """One of many rows: the bins are read once for all of them."""

    bin = forms.ChoiceField(label="Bin", required=False)
    lost = forms.IntegerField(label="Lost on the road", min_value=0, required=False, initial=0)

    def __init__(self, *args: Any, site: Site, bins: Sequence[Bin], **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        self._bins = {str(bin.pk): bin for bin in bins}
        field = self.fields["bin"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "No bin"), *((pk, bin.code) for pk, bin in self._bins.items())]

    def bin_said(self) -> Bin | None:
        return self._bins.get(self.cleaned_data["bin"])


class TakeApartForm(_FromLotForm):
    pieces = _pieces(initial=1)
    used = _PiecesChoice(
        Part.objects.none(),
        label="Used at once; the rest goes to loose stock",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    occasion = forms.CharField(label="For", max_length=40, required=False)

    field_order = ["pieces", "used", "occasion", "bin", "lot"]

    def __init__(self, *args: Any, part: Part, **kwargs: Any) -> None:
        super().__init__(*args, part=part, **kwargs)
        pieces = Part.objects.counted().filter(wholes__whole=part)
        choice(self, "used").queryset = pieces
        if part.kind == PartKind.KIT:
            # A kit is opened for its seal; what else is in it goes to loose stock.
            self.fields["used"].initial = list(pieces.filter(kind=PartKind.SEAL))


class PutTogetherForm(AtBinForm):
    pieces = _pieces(initial=1)
    occasion = forms.CharField(label="For", max_length=40, required=False)

    field_order = ["pieces", "occasion", "bin"]
