"""A shop with one record behind every address, so that tests can open them all."""

from typing import Any

from django.urls import reverse

from inventory.catalog.actions.fitments import supersede_part
from inventory.catalog.evidence import contradict_fit
from inventory.ledger.actions import hold_parts, receive_stock, send_transfer, start_count
from inventory.ledger.models import Posting
from inventory.reorder.actions.claims import open_claim
from inventory.reorder.models import Delivery, Order, OrderLine, PlanRun, PlanStatus, PriceList
from inventory.shop.roles import Role
from jobs.workshop.actions.lines import issue_part_for_job
from shopparts.models import Run
from tests.addresses import Address
from tests.make import (
    make_application,
    make_bin,
    make_fitment,
    make_job,
    make_offer,
    make_part,
    make_plan_line,
    make_site,
    make_supplier,
    make_user,
    make_vehicle,
    make_wheels,
)

NOT_THERE = 10**6
# An uncommon amount, so that finding it in a page means that the page shows what stock cost.
COST_CENTS, COST = 791_913, "7,919.13"


def one_of_each() -> dict[str, Any]:
    """Keys by the noun a path begins with, or by the name of the argument; and the people."""
    site = make_site()
    application, part = make_application(), make_part(mounting="clamp_in")
    fitment = make_fitment(application, part)
    misfit = contradict_fit(application, part, reason="not heard", job_key="J0", by=None)
    replaced = supersede_part(make_part(), part, by=None)
    people = {role: make_user(role, home_site=site) for role in Role}
    by = people[Role.TECHNICIAN]
    receive_stock(part, site=site, pieces=2, value_cents=2 * COST_CENTS, by=by, key="costly")
    kit, far = make_part("kit"), make_site()
    receive_stock(kit, site=far, pieces=1, value_cents=COST_CENTS, by=by, key="far")
    coming = send_transfer(kit, from_site=far, to_site=site, pieces=1, by=by, key="coming")
    receive_stock(kit, site=site, pieces=2, value_cents=2 * COST_CENTS, by=by, key="kits")
    hold = hold_parts(kit, site=site, pieces=1, job_key="J-HELD", by=by, key="held")
    vehicle = make_vehicle(application)
    wheel = make_wheels(vehicle)[0]
    job = make_job(vehicle, site=site)
    line = issue_part_for_job(job, part=part, by=by, key="sold", price_cents=9_900)
    supplier = make_supplier()
    order = Order.objects.create(key="O-1", supplier=supplier, site=site)
    OrderLine.objects.create(order=order, part=part, line=1, packs=1, pack_price_cents=COST_CENTS)
    make_offer(supplier, part)
    delivery = Delivery.objects.create(key="D-1", supplier=supplier, site=site)
    came = delivery.lines.create(line=1, part=part, pieces=1, value_cents=COST_CENTS)
    listed = PriceList.objects.create(
        key="L-1", supplier=supplier, heads=["A", "B"], rows=[["1", "2"]], valid_from=site.today()
    )
    listed.columns = {"part": "A", "price": "B"}
    listed.save()
    claim = open_claim(part, supplier=supplier, key="C-1", failed_on=site.today(), by=None)
    run = PlanRun.objects.create(as_of=site.today(), status=PlanStatus.DONE)
    planned = make_plan_line(
        site, supplier, run=run, part=part, suggested_packs=1, pack_price_cents=COST_CENTS
    )
    return {
        "plan": planned.pk,
        "fit": application.pk,
        "applications": application.pk,
        "fitments": fitment.pk,
        "evidence": misfit.pk,
        "supersessions": replaced.pk,
        "parts": part.pk,
        "postings": Posting.objects.get(key="costly").pk,
        "transfers": coming.pk,
        "holds": hold.pk,
        "counts": start_count(site, title="Kits", part=kit, by=by, key="count").pk,
        "vehicles": vehicle.pk,
        "jobs": job.pk,
        "wheel": wheel.pk,
        "line": line.pk,
        "lots": part.pk,
        "suppliers": supplier.pk,
        "orders": order.pk,
        "claims": claim.pk,
        "deliveries": delivery.pk,
        "delivery-lines": came.pk,
        "price-lists": listed.pk,
        "people": people,
        "team": by.pk,
        "sites": site.pk,
        "bins": make_bin(site).pk,
        "runs": Run.objects.create(key="run", kind="plan").pk,
    }


def path_of(address: Address, shop: dict[str, Any]) -> str:
    """The address with the key of an existing record, or of one that is not there."""
    noun = address.route.split("/")[0]
    given = {name: shop.get(name) or shop.get(noun, NOT_THERE) for name in address.arguments}
    return reverse(address.name, kwargs=given)
