"""Who signs in: invited by an owner, by a signed address that each person opens once."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import SetPasswordForm, UsernameField
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.urls import reverse

from inventory.action_form import ActionForm
from inventory.shop.actions import record_changes
from inventory.shop.models import Site
from inventory.shop.roles import Role
from shopparts.models import User

LOGGED = ("username", "first_name", "last_name", "role", "home_site_id", "is_active")


class JoinTokens(PasswordResetTokenGenerator):
    """Tokens for the address of `join`: dead after three days, a log-in or a new password."""

    key_salt = "shopparts.people.JoinTokens"


tokens = JoinTokens()


def join_path(person: User) -> str:
    return reverse("join", args=[person.pk, tokens.make_token(person)])


def person_joining(pk: int, token: str) -> User | None:
    """Whose address this is; None when it is old, used, or of nobody who may sign in."""
    person = User.objects.filter(pk=pk, is_active=True).first()
    return person if person and tokens.check_token(person, token) else None


def owners() -> QuerySet[User]:
    return User.objects.filter(role=Role.OWNER, is_active=True)


def invite_person(*, by: Any, **fields: Any) -> User:
    """A person who can sign in once they have chosen a password at their address."""
    with transaction.atomic():
        person = User(**fields)
        person.set_unusable_password()
        person.full_clean()
        person.save()
        _log(person, {}, by=by)
    return person


def change_person(person: User, *, by: Any, **fields: Any) -> User:
    """Change name, role, site, or whether they may sign in. One owner always stays.

    Raises
    ------
    ValidationError
        If nobody would be left who may let people in.
    """
    with transaction.atomic():
        # Two owners who take the role from one another at once wait here, one for the other.
        others = [owner for owner in owners().select_for_update() if owner.pk != person.pk]
        person = User.objects.select_for_update().get(pk=person.pk)
        before = {name: getattr(person, name) for name in LOGGED}
        was_owner = person.is_owner and person.is_active
        for name, value in fields.items():
            setattr(person, name, value)
        if was_owner and not others and not (person.is_owner and person.is_active):
            raise ValidationError(
                f"{person} is the only owner who may sign in; make another person an owner first."
            )
        person.full_clean()
        person.save()
        _log(person, before, by=by)
    return person


def _log(person: User, before: dict[str, Any], *, by: Any) -> None:
    after = {name: getattr(person, name) for name in LOGGED}
    if changed := [name for name in LOGGED if before.get(name) != after[name]]:
        old = {name: before[name] for name in changed if name in before}
        new = {name: after[name] for name in changed}
        record_changes([(person, f"person {person.username}", old, new)], by=by)


class PersonForm(ActionForm):
    first_name = forms.CharField(max_length=150)
    last_name = forms.CharField(max_length=150, required=False)
    role = forms.ChoiceField(
        choices=Role.choices,
        help_text="A technician sees customer prices only; a parts manager sees cost; an owner "
        "sees margins and lets people in.",
    )
    home_site = forms.ModelChoiceField(Site.objects.selling(), required=False, empty_label="Any")


class InviteForm(PersonForm):
    username = UsernameField(
        label="Log-in name", max_length=150, validators=[User.username_validator]
    )
    field_order = ("username", "first_name", "last_name", "role", "home_site")


class PersonChangeForm(PersonForm):
    is_active = forms.BooleanField(label="May sign in", required=False)


class JoinForm(SetPasswordForm):  # type: ignore[type-arg]  # cannot be subscripted when it runs
    error_messages = {
        "password_mismatch": "The two passwords differ. Type both once more.",
    }


def people() -> QuerySet[User]:
    """Everybody, those who may sign in first."""
    return get_user_model().objects.select_related("home_site").order_by("-is_active", "username")
