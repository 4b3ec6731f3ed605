"""Forms of the catalogue's upkeep: an entry's facts, its parts, and what becomes of it."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django import forms
from django.forms.models import fields_for_model

from inventory.action_form import ActionForm, PostingForm
from inventory.catalog.models import Application
from inventory.catalog.spans import span_text
from inventory.reorder.forms.fields import PartCodeField, name_blank, pressure_field, torque_field
from inventory.reorder.forms.parts import ListingForm
from inventory.shop.models import ShopSettings

GROUPS = (
    (
        "Which vehicle",
        ("make", "model", "year_from", "year_to", "built_from", "built_to", "trim", "wheel"),
    ),
    (
        "Its sensors",
        (
            "system",
            "band",
            "mounting",
            "construction",
            "hole",
            "sensor_place",
            "sensors",
            "spare_has_sensor",
        ),
    ),
    (
        "Its wheels",
        (
            "placard_front_kpa",
            "placard_rear_kpa",
            "placard_spare_kpa",
            "wheel_nut_torque_cnm",
            "rated_weight_kg",
            "top_speed_kmh",
        ),
    ),
    ("Re-learn", ("relearn", "relearn_minutes", "ids_stored", "relearn_source")),
    ("Where it comes from", ("source", "source_date")),
)
NAMES = ("relearn_steps", *(name for _, names in GROUPS for name in names))


class MonthField(forms.DateField):
    """A month, such as 2016-03; cleans to its first day."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            input_formats=["%Y-%m", "%m/%Y", "%Y-%m-%d"],
            widget=forms.DateInput(format="%Y-%m"),
            **options,
        )

    def clean(self, value: Any) -> Any:
        month: date | None = super().clean(value)
        return month and month.replace(day=1)


class ApplicationForm(ActionForm):
    """The facts of one entry. Only what was changed is handed on."""

    def __init__(
        self, *args: Any, application: Application, shop: ShopSettings, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields = fields_for_model(Application, fields=NAMES) | {
            "built_from": MonthField(label="Built from (month)", required=False),
            "built_to": MonthField(label="Built to (month)", required=False),
            "placard_front_kpa": pressure_field(shop, "Placard front"),
            "placard_rear_kpa": pressure_field(shop, "Placard rear"),
            "placard_spare_kpa": pressure_field(shop, "Placard spare"),
            "wheel_nut_torque_cnm": torque_field(shop, "Wheel nut torque"),
        }
        self.fields["relearn_steps"].widget = forms.Textarea(attrs={"rows": 3})
        self.fields["relearn_minutes"].label = "Re-learn, minutes"
        for field in self.fields.values():
            name_blank(field)
        self.initial = {name: getattr(application, name) for name in self.fields}
        for field in self.fields.values():
            # Compared with what the page showed: another's change meanwhile is not taken back.
            field.show_hidden_initial = True

    def groups(self) -> Iterator[tuple[str, list[forms.BoundField]]]:
        """The fields in the order in which one thinks of a vehicle."""
        for title, names in GROUPS:
            yield title, [self[name] for name in names]

    def changes(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.changed_data}


class NewEntryForm(ApplicationForm):
    """All facts of an entry that is not there yet; a key is made where none is written."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        asked = kwargs.pop("asked", {})
        super().__init__(*args, application=Application(), **kwargs)
        self.fields["key"] = forms.CharField(
            label="Our key",
            max_length=40,
            required=False,
            help_text="By which workbooks name it; blank makes one.",
        )
        self.initial |= asked
        for field in self.fields.values():
            field.show_hidden_initial = False

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in NAMES}


class FitmentForm(ListingForm):
    part = PartCodeField()
    field_order = ("part",)


class CopyForm(PostingForm):
    year_from = forms.IntegerField(label="First year", min_value=1980, max_value=2100)
    year_to = forms.IntegerField(label="Last year", min_value=1980, max_value=2100)


class SplitForm(PostingForm):
    month = MonthField(label="Later ones built from", help_text="Such as 2016-03.")


class MoveSplitForm(ActionForm):
    later = forms.ModelChoiceField(Application.objects.all())
    month = MonthField()


class EntryField(forms.ModelChoiceField[Application]):
    def label_from_instance(self, obj: Application) -> str:
        return " ".join(filter(None, [span_text(obj), obj.trim, obj.wheel]))


class MergeForm(ActionForm):
    into = EntryField(
        Application.objects.none(),
        empty_label="Choose",
        help_text="Of the same make and model; correct a name spelt wrongly above first.",
    )
    with_parts = forms.BooleanField(
        label="Take its parts along",
        required=False,
        help_text="Without this only vehicles and what jobs taught go over.",
    )

    def __init__(self, *args: Any, application: Application, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        into = self.fields["into"]
        assert isinstance(into, EntryField)
        others = Application.objects.filter(make=application.make, model=application.model)
        into.queryset = others.exclude(pk=application.pk)
