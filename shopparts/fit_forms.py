"""Forms of the fit pages: a vehicle that is not listed, and which vehicle an answer is for."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import ActionForm, PostingForm
from inventory.catalog.actions.drafts import Seen
from inventory.catalog.models import Band, Construction, Hole, Mounting, System
from inventory.reorder.forms.fields import pressure_field
from inventory.shop.models import ShopSettings
from jobs.workshop.models import Vehicle
from jobs.workshop.pressure import COLD_C, LAMP_FLOORS
from shopparts.fit_reads import Measured

FIRST_YEAR, LAST_YEAR = 1980, 2100


class NotListedForm(PostingForm):
    """What the vehicle is, and what its wheels show."""

    year = forms.IntegerField(label="Model year", min_value=FIRST_YEAR, max_value=LAST_YEAR)
    make = forms.CharField(max_length=40)
    model = forms.CharField(max_length=60)
    trim = forms.CharField(label="Trim or body", max_length=60, required=False)
    system = forms.ChoiceField(
        label="Does the tool hear a sensor in any wheel?",
        choices=[(System.DIRECT, "Yes, or not tried"), (System.INDIRECT, "No, wheel speed only")],
        help_text="Turn the wheel and try twice before you say no.",
    )
    band = forms.ChoiceField(
        label="Band heard",
        required=False,
        choices=[("", "Not heard"), *Band.choices],
        help_text="Go by two wheels that agree: one may carry a wrong sensor.",
    )
    mounting = forms.ChoiceField(
        label="Valve",
        required=False,
        choices=[
            ("", "Not looked at"),
            (Mounting.SNAP_IN, "Rubber stem (snap-in)"),
            (Mounting.CLAMP_IN, "Metal stem with a nut (clamp-in)"),
            (Mounting.STRAP, "Plain valve, sensor strapped round the rim"),
            (Mounting.INSIDE, "Plain valve, sensor inside the tire"),
        ],
    )
    hole = forms.ChoiceField(
        label="Valve hole", required=False, choices=[("", "Not measured"), *Hole.choices]
    )
    construction = forms.ChoiceField(
        label="Sensor is",
        choices=[(Construction.UNKNOWN, "Not looked at"), *Construction.choices[:2]],
        help_text="Two-piece: one screw joins body and stem.",
    )
    printed_code = forms.CharField(
        label="Code printed on the sensor", max_length=60, required=False
    )

    def seen(self) -> Seen:
        said = self.cleaned_data
        return Seen(**{name: said[name] for name in Seen.__dataclass_fields__})

    def vehicle(self) -> dict[str, Any]:
        names = ("make", "model", "year", "trim", "printed_code", "key")
        return {name: self.cleaned_data[name] for name in names}


class MeasuredForm(forms.Form):
    """A gauge held to a tire, to tell a leak from the cold."""

    tire_c = forms.IntegerField(label="Tire at, °C", min_value=-50, max_value=100, required=False)
    set_c = forms.IntegerField(
        label="Last set at, °C",
        min_value=-50,
        max_value=60,
        required=False,
        help_text="20 °C where nobody knows.",
    )
    tire = forms.ChoiceField(
        label="Kind of tire",
        required=False,
        choices=[(name, name.capitalize()) for name in LAMP_FLOORS],
    )

    def __init__(self, *args: Any, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields = {"gauge": pressure_field(shop, "Gauge shows")} | self.fields

    def measured(self) -> Measured | None:
        """What was filled in and can be read; a field that cannot be read changes nothing."""
        self.is_valid()
        gauge, tire_c = self.cleaned_data.get("gauge"), self.cleaned_data.get("tire_c")
        if gauge is None or tire_c is None:
            return None
        set_c = self.cleaned_data.get("set_c")
        return Measured(
            gauge_kpa=gauge, tire_c=tire_c, set_c=int(COLD_C) if set_c is None else set_c
        )

    def tire_kind(self) -> str:
        return self.cleaned_data.get("tire") or next(iter(LAMP_FLOORS))


class VehicleField(forms.CharField):
    """Plate, VIN or unit number of a vehicle written down here; cleans to the vehicle."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        found = list(Vehicle.objects.known_as(text)[:2])
        if not found:
            raise ValidationError(
                f"No vehicle is written down as “{text}”; check it, or write it down as new."
            )
        if len(found) > 1:
            raise ValidationError(f"Several vehicles are known as “{text}”; give the VIN instead.")
        return found[0]


class GiveForm(ActionForm):
    vehicle = VehicleField(label="Plate, VIN or unit number", max_length=24)
    instead = forms.BooleanField(
        label="Change what it was written down as",
        required=False,
        help_text="Only where it was named wrongly before.",
    )
