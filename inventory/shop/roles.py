"""Who may see and do what: three roles, each holding the rights of the one before."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from django.core.exceptions import PermissionDenied
from django.db import models
from django.http import HttpRequest
from django.http.response import HttpResponseBase

P = ParamSpec("P")
R = TypeVar("R", bound=HttpResponseBase)


class Role(models.TextChoices):
    TECHNICIAN = "technician", "Technician"
    PARTS_MANAGER = "parts_manager", "Parts manager"
    OWNER = "owner", "Owner"

    def holds(self, needed: "Role") -> bool:
        """Whether this role has the rights of `needed`."""
        ranks = list(Role)
        return ranks.index(self) >= ranks.index(needed)


def holds(user: Any, needed: Role) -> bool:
    return bool(user.is_authenticated) and Role(user.role).holds(needed)


def role_required(
    needed: Role,
) -> Callable[
    [Callable[Concatenate[HttpRequest, P], R]],
    Callable[Concatenate[HttpRequest, P], R],
]:
    """Refuse a signed-in person whose role is too low; signing in itself is the middleware's."""

    def decorate(
        view: Callable[Concatenate[HttpRequest, P], R],
    ) -> Callable[Concatenate[HttpRequest, P], R]:
        @wraps(view)
        def checked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> R:
            if not holds(request.user, needed):
                raise PermissionDenied(f"This page is for the {needed.label.lower()}.")
            return view(request, *args, **kwargs)

        return checked

    return decorate
