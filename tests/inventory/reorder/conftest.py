from datetime import date

import pytest

from inventory.reorder.models import PlanRun, PlanStatus
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
from tests.inventory.reorder.pages import behind
from tests.make import make_part, make_plan_line, make_site, make_supplier, make_user


@pytest.fixture
def site():
    ShopSettings.load()
    return make_site(name="Quay Street")


@pytest.fixture
def supplier():
    return make_supplier(code="BLY", name="Blyth Valve Supply")


@pytest.fixture
def manager(client, site):
    client.force_login(make_user(Role.PARTS_MANAGER, home_site=site))
    return client


@pytest.fixture
def run():
    return PlanRun.objects.create(
        as_of=date(2026, 3, 4),
        status=PlanStatus.DONE,
        figures={
            "holding_rate": 0.25,
            "laws": {"None": {"days": {"2": 1.0}, "review_days": 1.4}},
        },
    )


@pytest.fixture
def plan_line(site, supplier, run):
    run.figures["laws"][str(supplier.pk)] = {"days": {"2": 0.5, "4": 0.5}, "review_days": 1.4}
    run.save()
    return make_plan_line(
        site,
        supplier,
        run=run,
        part=make_part(number="QX-4410"),
        on_hand=1,
        suggested_packs=3,
        pack=4,
        pack_price_cents=1_037,
        figures=behind(),
    )
