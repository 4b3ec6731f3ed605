"""Plain builders: each makes one valid record, and takes what the test is about as keywords."""

import itertools
from typing import Any

from inventory.catalog.models import Application, Fitment, Part, PartKind
from inventory.shop.models import Bin, Site
from inventory.shop.roles import Role
from shopparts.models import User

_numbers = itertools.count(1)
PASSWORD = "a-long-enough-password"


def make_user(role: str = Role.TECHNICIAN, **fields: Any) -> User:
    name = fields.pop("username", f"{role}-{next(_numbers)}")
    return User.objects.create_user(name, password=PASSWORD, role=role, **fields)


def make_site(**fields: Any) -> Site:
    number = next(_numbers)
    return Site.objects.create(**{"code": f"S{number}", "name": f"Site {number}"} | fields)


def make_bin(site: Site, **fields: Any) -> Bin:
    return Bin.objects.create(**{"site": site, "code": f"B{next(_numbers)}"} | fields)


def make_part(kind: str = PartKind.ASSEMBLY, **fields: Any) -> Part:
    sensor = kind in {PartKind.ASSEMBLY, PartKind.BODY}
    defaults: dict[str, Any] = {"number": f"PN-{next(_numbers)}", "band_433": sensor}
    part = Part(kind=kind, **defaults | fields)
    part.full_clean()
    part.save()
    return part


def make_application(**fields: Any) -> Application:
    defaults: dict[str, Any] = {
        "key": f"app-{next(_numbers)}",
        "make": "Merow",
        "model": "Lista",
        "year_from": 2013,
        "year_to": 2016,
        "band": "433",
        "mounting": "clamp_in",
        "construction": "two_piece",
        "hole": "453",
        "placard_front_kpa": 230,
        "placard_rear_kpa": 230,
    }
    application = Application(**defaults | fields)
    application.full_clean()
    application.save()
    return application


def make_fitment(application: Application, part: Part, **fields: Any) -> Fitment:
    return Fitment.objects.create(application=application, part=part, **fields)
