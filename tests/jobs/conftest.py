"""The cast of the job pages: a two-piece clamp-in vehicle with everything for it on the shelf."""

from dataclasses import dataclass
from datetime import date

import pytest

from inventory.models import Application, Part, Site
from inventory.shop.roles import Role
from jobs.models import Job, Vehicle, Wheel
from jobs.workshop.actions.jobs import open_job
from shopparts.models import User
from tests.make import (
    make_application,
    make_fitment,
    make_part,
    make_site,
    make_stock,
    make_user,
    make_vehicle,
    make_wheels,
)


@dataclass(frozen=True)
class Bay:
    site: Site
    technician: User
    application: Application
    vehicle: Vehicle
    wheels: list[Wheel]
    body: Part
    stem: Part
    kit: Part
    assembly: Part
    job: Job

    @property
    def wheel(self) -> Wheel:
        return self.wheels[0]


@pytest.fixture
def bay(db):
    site = make_site()
    technician = make_user(Role.TECHNICIAN, home_site=site)
    application = make_application(relearn="drive", relearn_minutes=10)
    parts = {
        kind: make_part(kind, words=words, list_price_cents=price, construction="two_piece")
        for kind, words, price in (
            ("body", "Body", 4200),
            ("stem", "Stem", 1200),
            ("kit", "Kit", 400),
            ("assembly", "Assembly", 4900),
        )
    }
    for part in parts.values():
        make_fitment(application, part)
        make_stock(part, site, pieces=4, value_cents=4 * 1937)
    vehicle = make_vehicle(application, in_service_on=date(2019, 5, 1))
    wheels = make_wheels(vehicle)
    job = open_job(vehicle, site=site, kind="sensor", technician=technician, lamp_before="flashes")
    return Bay(
        site=site,
        technician=technician,
        application=application,
        vehicle=vehicle,
        wheels=wheels,
        job=job,
        **parts,
    )
