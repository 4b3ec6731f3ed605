"""The people who sign in, and the long work they ask for."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from inventory.shop.roles import Role
from shopparts.runs.models import Run

__all__ = ["Run", "User"]


class User(AbstractUser):
    role = models.CharField(max_length=16, choices=Role.choices, default=Role.TECHNICIAN)
    home_site = models.ForeignKey(
        "inventory.Site", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    pin = models.CharField(max_length=128, blank=True, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values),
                name="user_role_known",
                violation_error_message="A person is a technician, a parts manager or an owner.",
            )
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def sees_cost(self) -> bool:
        return Role(self.role).holds(Role.PARTS_MANAGER)

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER
