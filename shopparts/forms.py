"""The forms of the site itself."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, UsernameField
from django.core.files.uploadedfile import UploadedFile
from django.core.validators import RegexValidator

from inventory.action_form import PostingForm
from inventory.catalog.fit import Findings
from inventory.catalog.models import Band, Construction, Hole
from inventory.shop.models import PressureUnit, ShopSettings
from inventory.shop.units import whole_kpa
from shopparts.workbook.guard import FILE_BYTES
from shopparts.workbook.registry import sheets


class LogInForm(AuthenticationForm):
    username = UsernameField(label="Name", widget=forms.TextInput(attrs={"autofocus": True}))
    error_messages = {
        "invalid_login": "This name and password do not belong together. Check both; capitals "
        "count.",
        "inactive": "This name is no longer in use. Ask an owner to open it again.",
    }


class NewPasswordForm(PasswordChangeForm):
    error_messages = PasswordChangeForm.error_messages | {
        "password_incorrect": "This is not your present password. Type it once more.",
        "password_mismatch": "The two new passwords differ. Type both once more.",
    }


class FindingsForm(forms.Form):
    """What the wheel itself shows, where it may change what is offered."""

    pressure_set = forms.DecimalField(
        label="Pressure you set",
        required=False,
        min_value=0,
        decimal_places=2,
        max_digits=6,
        help_text="Where it is above the placard, as on a loaded van.",
    )
    hole = forms.ChoiceField(
        label="Valve hole", required=False, choices=[("", "As listed"), *Hole.choices]
    )
    construction = forms.ChoiceField(
        label="Sensor is",
        required=False,
        choices=[("", "As listed"), *Construction.choices[:2]],
    )
    band_heard = forms.ChoiceField(
        label="Band heard", required=False, choices=[("", "Not tried"), *Band.choices]
    )
    own_wheel = forms.BooleanField(
        label="Customer’s own wheel",
        required=False,
        help_text="Then only the band follows the vehicle.",
    )

    def __init__(self, *args: Any, shop: ShopSettings, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = PressureUnit(shop.pressure_unit)

    def findings(self) -> Findings:
        """What was filled in and can be read; a field that cannot be read changes nothing."""
        self.is_valid()
        said = self.cleaned_data
        pressure = said.get("pressure_set")
        return Findings(
            band_heard=said.get("band_heard", ""),
            hole=said.get("hole", ""),
            construction=said.get("construction", ""),
            own_wheel=bool(said.get("own_wheel")),
            pressure_set_kpa=whole_kpa(pressure, self.unit.value) if pressure else None,
        )


class RunForm(PostingForm):
    """Asks for a run. Its key names a folder too, so it must be one that the server made."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["key"].validators.append(
            RegexValidator(r"^[0-9a-f]{24}\Z", "Open the page again and send it once more.")
        )


class UploadForm(RunForm):
    file = forms.FileField(
        label="Workbook or csv file",
        help_text=f".xlsx or .csv, at most {FILE_BYTES // 1_000_000} MB. It is checked first; "
        "nothing is written before you say so.",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv"}),
    )

    def clean_file(self) -> "UploadedFile[Any]":
        file: UploadedFile[Any] = self.cleaned_data["file"]
        if (file.size or 0) > FILE_BYTES:
            raise forms.ValidationError(
                f"This file has {(file.size or 0) // 1_000_000} MB and at most "
                f"{FILE_BYTES // 1_000_000} are read; split it over several files."
            )
        return file


class LoadForm(RunForm):
    right_rows = forms.BooleanField(required=False, widget=forms.HiddenInput)


class SheetForm(forms.Form):
    sheet = forms.ChoiceField(label="Sheet")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["sheet"].choices = [(title, title) for title in sheets()]  # type: ignore[attr-defined]
