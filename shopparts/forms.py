"""The forms of the site itself."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, UsernameField

from inventory.catalog.fit import Findings
from inventory.catalog.models import Band, Construction, Hole
from inventory.shop.models import PressureUnit, ShopSettings
from inventory.shop.units import whole_kpa


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
