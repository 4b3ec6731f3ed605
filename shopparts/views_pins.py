"""A shared tablet in the bay: the next person takes over with a PIN."""

from typing import cast

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate, login
from django.contrib.auth.decorators import login_not_required
from django.core.validators import RegexValidator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from shopparts.models import User
from shopparts.pins import LONGEST, SESSION_SECONDS, SHORTEST, check_pin, people_here, set_pin

DIGITS = RegexValidator(
    rf"^[0-9]{{{SHORTEST},{LONGEST}}}\Z", f"A PIN has {SHORTEST} to {LONGEST} digits."
)

WRONG = "This is not the PIN of this person. After five wrong ones only the password opens."


class PinField(forms.CharField):
    def __init__(self, *, autocomplete: str, **options: object) -> None:
        look = {"inputmode": "numeric", "autocomplete": autocomplete}
        super().__init__(
            max_length=LONGEST,
            validators=[DIGITS],
            widget=forms.PasswordInput(attrs=look),
            **options,  # type: ignore[arg-type]
        )


class SwitchForm(forms.Form):
    pin = PinField(label="Your PIN", autocomplete="off")


class PinForm(forms.Form):
    password = forms.CharField(
        label="Your password", widget=forms.PasswordInput(attrs={"autocomplete": "off"})
    )
    pin = PinField(
        label="New PIN",
        autocomplete="off",
        required=False,
        help_text="Leave it empty to log in with the password each time.",
    )

    def __init__(self, person: User, *args: object, **options: object) -> None:
        super().__init__(*args, **options)  # type: ignore[arg-type]
        self.person = person

    def clean_password(self) -> str:
        password = str(self.cleaned_data["password"])
        if not self.person.check_password(password):
            raise forms.ValidationError("This is not your present password. Type it once more.")
        return password

    def clean_pin(self) -> str:
        pin = str(self.cleaned_data["pin"])
        check_pin(pin)
        return pin


@login_not_required
@sensitive_post_parameters("pin")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def switch_person(request: HttpRequest) -> HttpResponse:
    people = people_here(request)
    form = SwitchForm(request.POST or None)
    chosen = next((p for p in people if str(p.pk) == request.POST.get("person")), None)
    if form.is_valid() and chosen is not None:
        pin = form.cleaned_data["pin"]
        person = authenticate(request, username=chosen.username, pin=pin)
        if person is not None:
            login(request, person, backend="django.contrib.auth.backends.ModelBackend")
            request.session.set_expiry(SESSION_SECONDS)
            return redirect("today")
        if getattr(request, "axes_locked_out", False):
            set_pin(chosen, "")
        form.add_error("pin", WRONG)
    context = {"form": form, "people": people, "chosen": chosen}
    return render(request, "switch_person.html", context)


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def change_pin(request: HttpRequest) -> HttpResponse:
    person = cast(User, request.user)
    form = PinForm(person, request.POST or None)
    if form.is_valid():
        set_pin(person, form.cleaned_data["pin"])
        said = "Your PIN works on each tablet where you have logged in with your password."
        messages.success(request, said if person.pin else "You have no PIN any more.")
        return redirect("today")
    return render(request, "change_pin.html", {"form": form})
