"""The first minute of a new shop: whoever started the program makes the owner's account.

The address carries a signed token that only the terminal shows, so that nobody else on the
network can take the shop; it stops working once there is an owner.
"""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model, login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import BaseUserCreationForm, UsernameField
from django.core import signing
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.shop.models import ShopSettings, Site, check_zone
from inventory.shop.roles import Role
from shopparts.models import User
from shopparts.shop_forms import zone_input, zones

SALT = "first owner"
DAY_SECONDS = 24 * 3600


def first_owner_path() -> str | None:
    """The address at which the owner's account is made; None once somebody can sign in."""
    if get_user_model().objects.exists():
        return None
    return reverse("first_owner", args=[signing.dumps("owner", salt=SALT)])


def open_token(token: str) -> None:
    try:
        signing.loads(token, salt=SALT, max_age=DAY_SECONDS)
    except signing.BadSignature:
        raise Http404("Start the program again to get a new address.") from None


class FirstOwnerForm(BaseUserCreationForm[User]):
    shop_name = forms.CharField(label="Name of the shop", max_length=80)
    site_name = forms.CharField(
        label="Name of the first site", max_length=80, help_text="The street or the part of town."
    )
    zone = forms.CharField(
        label="Time zone",
        max_length=64,
        validators=[check_zone],
        widget=zone_input(),
        help_text="Type a city and choose, such as America/Chicago: the site's days follow it.",
    )

    class Meta:
        model = User
        fields = ("username", "first_name", "last_name")
        field_classes = {"username": UsernameField}
        labels = {"username": "Log-in name"}
        widgets = {
            "first_name": forms.TextInput(attrs={"autocomplete": "given-name"}),
            "last_name": forms.TextInput(attrs={"autocomplete": "family-name"}),
        }

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        # The page begins with the shop, not with the person.
        self.fields["username"].widget.attrs.pop("autofocus", None)
        self.fields["shop_name"].widget.attrs["autofocus"] = True


def create_owner(user: User, *, shop_name: str, site_name: str, zone: str) -> User:
    """The owner, the shop's name and its first site, together or not at all."""
    with transaction.atomic():
        shop = ShopSettings.load()
        shop.name = shop_name
        shop.full_clean()
        shop.save()
        user.role = Role.OWNER
        site = Site(code="main", name=site_name, zone=zone, asks_logged_from=timezone.now().date())
        site.full_clean()
        site.save()
        user.home_site = site
        user.save()
    return user


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def first_owner(request: HttpRequest, token: str) -> HttpResponse:
    if get_user_model().objects.exists():
        return redirect("today")
    open_token(token)
    form = FirstOwnerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        owner = create_owner(
            form.save(commit=False),
            shop_name=form.cleaned_data["shop_name"],
            site_name=form.cleaned_data["site_name"],
            zone=form.cleaned_data["zone"],
        )
        login(request, owner, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("first_hour")
    return render(request, "first_owner.html", {"form": form, "zones": zones()})
