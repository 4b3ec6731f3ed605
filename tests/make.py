"""Plain builders: each makes one valid record, and takes what the test is about as keywords."""

import itertools
from datetime import date
from typing import Any

from inventory.catalog.models import Application, Fitment, Part, PartKind
from inventory.ledger.actions import receive_stock
from inventory.ledger.models import Posting
from inventory.reorder.models import Offer, PlanLine, PlanRun, Supplier
from inventory.shop.models import Bin, Site
from inventory.shop.roles import Role
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.models import Account, Job, JobKind, Keeper, Vehicle, Wheel
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


def make_supplier(**fields: Any) -> Supplier:
    number = next(_numbers)
    supplier = Supplier(**{"code": f"SUP{number}", "name": f"Supplier {number}"} | fields)
    supplier.full_clean()
    supplier.save()
    return supplier


def make_offer(
    supplier: Supplier, part: Part, *, breaks: dict[int, int] | None = None, **fields: Any
) -> Offer:
    """An offer from 2020 on; `breaks` are cents a pack by the packs from which they hold."""
    defaults: dict[str, Any] = {"pack_price_cents": 2_137, "valid_from": date(2020, 1, 1)}
    offer = Offer(supplier=supplier, part=part, **defaults | fields)
    offer.full_clean()
    offer.save()
    for packs, cents in (breaks or {}).items():
        offer.breaks.create(from_packs=packs, pack_price_cents=cents)
    return offer


def make_plan_line(site: Site, supplier: Supplier | None, **fields: Any) -> PlanLine:
    """A line of a plan of its own, with the least that a line needs."""
    part = fields.pop("part", None) or make_part()
    run = fields.pop("run", None) or PlanRun.objects.create(as_of=date(2026, 3, 4))
    defaults: dict[str, Any] = dict.fromkeys(("on_hand", "on_order", "held", "owed"), 0)
    defaults |= {"asks": 0.5, "size_mean": 1, "lead_days": 3, "target": 0.95}
    defaults |= {"reorder_point": 2, "order_quantity": 1}
    return PlanLine.objects.create(
        run=run, part=part, site=site, supplier=supplier, **defaults | fields
    )


def make_keeper(**fields: Any) -> Keeper:
    return Keeper.objects.create(
        **{"key": f"K-{next(_numbers)}", "name": "Ada Fisher", "phone": "555 0117"} | fields
    )


def make_account(**fields: Any) -> Account:
    return Account.objects.create(**{"name": f"Tern Parcels {next(_numbers)}"} | fields)


def make_vehicle(application: Application | None = None, **fields: Any) -> Vehicle:
    number = next(_numbers)
    defaults: dict[str, Any] = {
        "key": f"V-{number}",
        "plate": f"QX {number}",
        "application": application or make_application(),
        "in_service_on": date(2019, 5, 1),
    }
    vehicle = Vehicle(**defaults | fields)
    vehicle.full_clean()
    vehicle.save()
    return vehicle


def make_wheels(vehicle: Vehicle, **fields: Any) -> list[Wheel]:
    """Four mounted wheels with factory pieces, first seen on 1 March 2024 unless told."""
    return set_up_wheels(vehicle, **{"on": date(2024, 3, 1)} | fields)


def make_job(vehicle: Vehicle | None = None, **fields: Any) -> Job:
    defaults: dict[str, Any] = {
        "key": f"J-{next(_numbers)}",
        "site": fields.pop("site", None) or make_site(),
        "vehicle": vehicle or make_vehicle(),
        "kind": JobKind.SENSOR,
    }
    job = Job(**defaults | fields)
    job.full_clean()
    job.save()
    return job


def make_stock(part: Part, site: Site, *, pieces: int = 1, **fields: Any) -> Posting:
    """Pieces on the shelf, received as any others are."""
    defaults: dict[str, Any] = {"value_cents": 1_713 * pieces, "by": None}
    defaults["key"] = f"stock-{next(_numbers)}"
    return receive_stock(part, site=site, pieces=pieces, **defaults | fields)
