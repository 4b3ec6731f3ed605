"""Quick switching on a shared tablet: a PIN opens only where the same person has logged in fully.

The tablet keeps a signed list of who that was, bound to their password: a new password, or five
wrong PINs, and only a full log-in opens again. An owner's account never opens by PIN.
"""

from itertools import pairwise

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare

from shopparts.models import User

COOKIE = "people_here"
SALT = "shopparts.pins"
KEPT_SECONDS = 30 * 24 * 3600
PEOPLE_A_TABLET = 12
SHORTEST, LONGEST = 4, 8
SESSION_SECONDS = 12 * 3600


def check_pin(pin: str) -> None:
    """Refuse what anybody would try first."""
    steps = {int(b) - int(a) for a, b in pairwise(pin)}
    if len(steps) == 1 and steps <= {-1, 0, 1}:
        raise ValidationError("This PIN is easily guessed; choose one that is no row of digits.")


def set_pin(person: User, pin: str) -> None:
    """Keep a new PIN; an empty one means that the person logs in fully each time."""
    person.pin = make_password(pin) if pin else ""
    person.save(update_fields=["pin"])


def people_here(request: HttpRequest) -> list[User]:
    """Who may switch by PIN on this tablet: logged in fully here, with the password they have."""
    kept = _kept(request)
    found = User.objects.filter(pk__in=kept, is_active=True).exclude(pin="").order_by("username")
    return [
        person
        for person in found
        if not person.is_owner and constant_time_compare(kept[person.pk], _mark(person))
    ]


def remember(request: HttpRequest, answer: HttpResponse, person: User) -> None:
    """Add a person who has just logged in fully to the list of this tablet."""
    kept = _kept(request)
    kept.pop(person.pk, None)
    latest = dict([*kept.items(), (person.pk, _mark(person))][-PEOPLE_A_TABLET:])
    answer.set_cookie(
        COOKIE,
        signing.dumps(latest, salt=SALT),
        max_age=KEPT_SECONDS,
        httponly=True,
        secure=settings.SESSION_COOKIE_SECURE,
        samesite="Strict",
    )


def _kept(request: HttpRequest) -> dict[int, str]:
    try:
        said = signing.loads(request.COOKIES.get(COOKIE, ""), salt=SALT, max_age=KEPT_SECONDS)
    except signing.BadSignature:
        return {}
    return {int(pk): str(mark) for pk, mark in said.items()}


def _mark(person: User) -> str:
    """Changes with the password, and tells nothing of it."""
    return person.get_session_auth_hash()[:32]


class PinBackend:
    """Opens an account by its PIN; where that is allowed, the page decides."""

    def authenticate(self, request: HttpRequest | None, username: str, pin: str) -> User | None:
        person = User.objects.filter(username=username, is_active=True).exclude(pin="").first()
        if person is None or person.is_owner:
            return None
        return person if check_password(pin, person.pin) else None
