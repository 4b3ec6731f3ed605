"""Forms of the job and vehicle pages. Field rules only; the shop's rules are the actions'."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from inventory.action_form import ActionForm, PostingForm
from inventory.reorder.forms.fields import pressure_field
from inventory.shop.models import ShopSettings
from jobs.workshop.actions.findings import WheelHeard
from jobs.workshop.actions.ids import WhoseId
from jobs.workshop.closing import Need
from jobs.workshop.identity import plain_id
from jobs.workshop.models import (
    Battery,
    Cause,
    Heard,
    IdOrigin,
    Job,
    Lamp,
    LeakAt,
    Payer,
    Source,
    StemCondition,
    Wheel,
    WheelAction,
)
from jobs.workshop.standing import WheelNow

FILE_BYTES = 50_000
YES_NO = [("", "Not known"), ("yes", "Yes"), ("no", "No")]


class WheelsForm(ActionForm):
    """A form with the same fields for each of several wheels, named by the wheel."""

    # The last reading the page knew of: what is newer and says the same came from this very form.
    after = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)

    def __init__(
        self, *args: Any, wheels: Sequence[WheelNow], shop: ShopSettings, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.wheels = wheels
        for now in wheels:
            for name, field in self.of_a_wheel(shop).items():
                self.fields[f"{name}-{now.wheel.pk}"] = field

    def of_a_wheel(self, shop: ShopSettings) -> dict[str, forms.Field]:
        raise NotImplementedError


class ReadingsForm(WheelsForm):
    """One block of fields for each wheel: what the tool, gauge or dash said of it."""

    source = forms.ChoiceField(choices=Source.choices, initial=Source.TOOL)
    lamp_before = forms.ChoiceField(
        label="Lamp before the work", choices=[("", "Not looked at"), *Lamp.choices], required=False
    )

    rest_answered = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def of_a_wheel(self, shop: ShopSettings) -> dict[str, forms.Field]:
        return wheel_fields(shop)

    def heard(self) -> list[WheelHeard]:
        """What was said of each wheel that was tried; of the rest, that it answered if so told."""
        return [
            WheelHeard(
                wheel=now.wheel,
                heard=self._heard(now),
                tries=self._of(now, "tries") or 1,
                pressure_kpa=self._of(now, "pressure"),
                temperature_c=self._of(now, "temperature"),
                battery=self._of(now, "battery") or Battery.NOT_TOLD,
                sensor_id=self._of(now, "id") or "",
                id_stored_in_vehicle={"yes": True, "no": False}.get(self._of(now, "stored")),
            )
            for now in self.wheels
            if self._heard(now) != Heard.NOT_TRIED
        ]

    def _heard(self, now: WheelNow) -> str:
        said = str(self._of(now, "heard"))
        if said == Heard.NOT_TRIED and self.cleaned_data["rest_answered"]:
            return Heard.ANSWERED
        return said

    def _of(self, now: WheelNow, name: str) -> Any:
        return self.cleaned_data.get(f"{name}-{now.wheel.pk}")

    def blocks(self) -> list[tuple[WheelNow, dict[str, Any]]]:
        names = wheel_fields(ShopSettings()).keys()
        return [
            (now, {name: self[f"{name}-{now.wheel.pk}"] for name in names}) for now in self.wheels
        ]


class ReadingFileForm(ActionForm):
    after = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)
    file = forms.FileField(
        label="Readings in a file",
        help_text="A csv with headings such as Position, Heard, Pressure psi, Temperature (°C), "
        "Battery, Id. Nothing is written down unless every row is right.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt"}),
    )

    def clean_file(self) -> bytes:
        data: bytes = self.cleaned_data["file"].read(FILE_BYTES + 1)
        if len(data) > FILE_BYTES:
            raise forms.ValidationError(
                f"At most {FILE_BYTES // 1000} kB are read; choose the file of one vehicle."
            )
        return data


class SensorIdField(forms.CharField):
    def clean(self, value: Any) -> str:
        text = super().clean(value)
        try:
            return plain_id(text) if text else ""
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from fault


def wheel_fields(shop: ShopSettings) -> dict[str, forms.Field]:
    return {
        "heard": forms.ChoiceField(
            label="Heard", choices=Heard.choices, initial=Heard.NOT_TRIED, widget=forms.RadioSelect
        ),
        "tries": forms.IntegerField(
            label="Tries", min_value=1, max_value=20, required=False, initial=1
        ),
        "pressure": pressure_field(shop, "Pressure"),
        "temperature": forms.IntegerField(
            label="Temperature, °C", min_value=-50, max_value=120, required=False
        ),
        "battery": forms.ChoiceField(
            label="Battery", choices=Battery.choices, required=False, initial=Battery.NOT_TOLD
        ),
        "id": SensorIdField(label="Sensor id (hex)", max_length=24, required=False),
        "stored": forms.ChoiceField(
            label="The vehicle knows this id", choices=YES_NO, required=False
        ),
    }


class InspectionForm(ActionForm):
    tire_off = forms.BooleanField(label="The tire comes off anyway", required=False)
    leak_at = forms.ChoiceField(label="Leaks at", choices=LeakAt.choices)
    stem = forms.ChoiceField(label="Stem", choices=StemCondition.choices)
    sealant_inside = forms.BooleanField(label="Sealant inside the tire", required=False)


class DoForm(PostingForm):
    # A plain valve in place of a sensor has a form of its own: somebody has to decide it.
    action = forms.ChoiceField(
        choices=[pair for pair in WheelAction.choices if pair[0] != WheelAction.PLAIN_VALVE]
    )
    sensor_id = SensorIdField(
        label="Id of the new sensor, read before it is mounted", max_length=24, required=False
    )
    id_origin = forms.ChoiceField(
        label="Its id is",
        choices=[(IdOrigin.NEW, "New"), (IdOrigin.COPIED, "Copied from the old sensor")],
        required=False,
        initial=IdOrigin.NEW,
    )
    prepare_minutes = forms.IntegerField(
        label="Minutes to program it", min_value=0, max_value=240, required=False
    )
    reason = forms.CharField(label="Why not as advised", max_length=200, required=False)


class ExplainIdForm(ActionForm):
    whose = forms.ChoiceField(
        label="Whose id is it", choices=WhoseId.choices, widget=forms.RadioSelect
    )


class PrintedCodeForm(ActionForm):
    code = forms.CharField(label="Code printed on the body", max_length=40)


class BrokenForm(ActionForm):
    sure = forms.BooleanField(label="It worked before, and broke while we had it in hand")


class PlainValveForm(PostingForm):
    who = forms.CharField(label="Who decided", max_length=80)
    how = forms.CharField(
        label="How", max_length=40, required=False, help_text="In person, by phone, by message."
    )
    reason = forms.CharField(label="Why a plain valve", max_length=200)


class ComebackForm(ActionForm):
    of = forms.ModelChoiceField(
        Job.objects.none(), label="It came back from", widget=forms.RadioSelect, empty_label=None
    )
    cause = forms.ChoiceField(label="Because of", choices=Cause.choices)
    payer = forms.ChoiceField(label="Paid by", choices=Payer.choices, initial=Payer.US)

    def __init__(self, *args: Any, earlier: Sequence[Job], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["of"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Job.objects.filter(pk__in=[job.pk for job in earlier])


class RelearnForm(WheelsForm):
    """One line a wheel, in the order one walks; then what is checked before the vehicle leaves."""

    lamp_after = forms.ChoiceField(
        label="Lamp after a restart", choices=[("", "Not looked at"), *Lamp.choices], required=False
    )
    pressures_set_cold = forms.BooleanField(
        label="All pressures set cold to the placard and read back", required=False
    )
    road_checked = forms.BooleanField(label="Driven, and the lamp stayed off", required=False)

    def of_a_wheel(self, shop: ShopSettings) -> dict[str, forms.Field]:
        return {
            "learned": forms.BooleanField(label="The vehicle has learned it", required=False),
            "pressure": pressure_field(shop, "Pressure read back"),
        }

    def walk(self) -> list[tuple[WheelNow, forms.BoundField, forms.BoundField]]:
        return [
            (now, self[f"learned-{now.wheel.pk}"], self[f"pressure-{now.wheel.pk}"])
            for now in self.wheels
        ]

    def learned(self) -> dict[int, int | None]:
        """Wheels the vehicle has learned, with the pressure read back where one was."""
        return {
            now.wheel.pk: self.cleaned_data[f"pressure-{now.wheel.pk}"]
            for now in self.wheels
            if self.cleaned_data[f"learned-{now.wheel.pk}"]
        }


class DeclineForm(ActionForm):
    action = forms.ChoiceField(label="What was declined", choices=WheelAction.choices)
    why = forms.CharField(label="Why", max_length=200)
    for_price = forms.BooleanField(label="Because of the price", required=False)
    who = forms.CharField(label="Who decided", max_length=80, required=False)


class DecidedWheelField(forms.ModelChoiceField[Wheel]):
    """The wheel that may stay as it is, of those about which somebody has to decide."""

    def __init__(self, where: Mapping[int, str]) -> None:
        self.where = where
        super().__init__(
            Wheel.objects.filter(pk__in=where),
            label="They let it leave with a sensor missing or not working",
            empty_label="No such decision",
            required=False,
            help_text="Write down one decision for each such wheel.",
        )

    def label_from_instance(self, obj: Wheel) -> str:
        return self.where[obj.pk]


class ApprovalForm(ActionForm):
    lines = forms.CharField(label="What was agreed", max_length=300)
    who = forms.CharField(label="Agreed by", max_length=80)
    how = forms.CharField(
        label="How", max_length=40, required=False, help_text="In person, by phone, by message."
    )
    above_limit = forms.BooleanField(
        label="The account agrees to go above its limit", required=False
    )

    def __init__(self, *args: Any, needs: Sequence[Need], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if wheels := dict(need.decides for need in needs if need.decides):
            self.fields["wheel"] = DecidedWheelField(wheels)
        if not any(need.limit for need in needs):
            del self.fields["above_limit"]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        return values | {"decides_safety": bool(values.get("wheel"))}


class CloseForm(ActionForm):
    lamp_before = forms.ChoiceField(
        label="Lamp before the work", choices=[("", "Not looked at"), *Lamp.choices], required=False
    )
    lamp_after = forms.ChoiceField(
        label="Lamp after a restart", choices=[("", "Not looked at"), *Lamp.choices], required=False
    )
    odometer_km = forms.IntegerField(label="Odometer", min_value=0, required=False)
    order_number = forms.CharField(label="Customer's order number", max_length=40, required=False)
    pressures_set_cold = forms.BooleanField(
        label="All pressures set cold to the placard and read back", required=False
    )
    wheel_nuts_tightened = forms.BooleanField(
        label="Wheel nuts tightened to the maker's torque, checked again", required=False
    )
    road_checked = forms.BooleanField(label="Driven, and the lamp stayed off", required=False)
    reason = forms.CharField(label="If something is missing: why", max_length=200, required=False)


class TireChangeForm(PostingForm):
    part = forms.ChoiceField(label="On all four")
    lamp_after = forms.ChoiceField(
        label="Lamp after a restart", choices=Lamp.choices, initial=Lamp.OFF
    )

    def __init__(self, *args: Any, parts: Sequence[tuple[int, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["part"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = list(parts)
