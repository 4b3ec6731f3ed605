"""Forms of the vehicle pages: what is known of a vehicle, its sets, a job to open."""

from typing import Any

from django import forms

from inventory.action_form import ActionForm
from inventory.catalog.models import Application
from inventory.reorder.forms.fields import pressure_field
from inventory.shop.models import ShopSettings
from jobs.workshop.models import Account, BuiltKnown, JobKind, Lamp, WheelSet
from jobs.workshop.standing import Standing


class OpenJobForm(ActionForm):
    kind = forms.ChoiceField(choices=JobKind.choices, initial=JobKind.SENSOR)
    lamp_before = forms.ChoiceField(
        label="Lamp as it came in", choices=[("", "Not looked at"), *Lamp.choices], required=False
    )
    odometer_km = forms.IntegerField(label="Odometer", min_value=0, required=False)
    order_number = forms.CharField(label="Customer's order number", max_length=40, required=False)
    words = forms.CharField(label="What was asked for", max_length=200, required=False)


class MountForm(ActionForm):
    mount = forms.ModelChoiceField(
        WheelSet.objects.none(), label="Set to mount", widget=forms.RadioSelect, empty_label=None
    )
    stored_where = forms.CharField(
        label="Where the set that comes off is stored", max_length=60, required=False
    )
    called = forms.CharField(label="Name of the set that comes off", max_length=40, required=False)

    def __init__(self, *args: Any, standing: Standing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["mount"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = standing.vehicle.wheel_sets.all()
        loose = [one for one in standing.on_the_road if one.wheel.wheel_set is None]
        self.fields["called"].required = bool(loose)
        self.asks_name = bool(loose)


class VehicleFacts(ActionForm):
    """What is known of a vehicle, new or old."""

    plate = forms.CharField(max_length=16, required=False)
    vin = forms.CharField(label="VIN", max_length=24, required=False)
    unit_number = forms.CharField(max_length=20, required=False)
    account = forms.ModelChoiceField(Account.objects.all(), required=False, empty_label="None")
    built_month = forms.DateField(
        label="Built in (month)",
        required=False,
        input_formats=["%Y-%m", "%m/%Y", "%Y-%m-%d"],
        help_text="Such as 2016-03.",
    )
    built_known = forms.ChoiceField(
        label="How known", choices=[("", "Not known"), *BuiltKnown.choices], required=False
    )


class VehicleForm(VehicleFacts):
    application = forms.ModelChoiceField(
        Application.objects.all(), required=False, widget=forms.HiddenInput
    )
    in_service_on = forms.DateField(
        label="In service since", required=False, help_text="Such as 2016-05-20."
    )


class VehicleChangeForm(VehicleFacts):
    keeper_name = forms.CharField(label="Brought by", max_length=80, required=False)
    keeper_phone = forms.CharField(label="Phone", max_length=40, required=False)
    somebody_else = forms.BooleanField(
        label="Somebody else brings it now",
        required=False,
        help_text="Otherwise a new name corrects the old one, on every vehicle of that person.",
    )

    def __init__(self, *args: Any, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pressure = pressure_field(shop, "Pressure really set")
        pressure.help_text = "Where it is above the placard, as on a loaded van."
        self.fields["pressure_set_kpa"] = pressure
        self.fields["built_month"].widget.format = "%Y-%m"
