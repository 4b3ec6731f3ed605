"""How long orders take, supplier by supplier: every delivery is a sample."""

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import F

from inventory.planning.interval import Interval
from inventory.planning.lead_time import (
    lead_time_chances,
    order_day_wait_chances,
    order_interval,
)
from inventory.reorder.inputs.facts import Ints
from inventory.reorder.inputs.stock import table
from inventory.reorder.models import DeliveryLine, Supplier

LONGEST_DAYS = 180
UNKNOWN_DAYS = 5
WEEK, WORKING_DAYS = "1234567", "12345"


def read_waits(supplier: int | None = None) -> Ints:
    """(supplier, days, day): how long an order took to each of its deliveries, by the site's days.

    `day` is the ordinal of the delivery's: before it nobody knew. Of all suppliers, or of one.
    """
    lines = DeliveryLine.objects.all()
    if supplier is not None:
        lines = lines.filter(delivery__supplier=supplier)
    found = (
        lines.exclude(order_line__order__sent_at=None)
        .filter(delivery__at__gte=F("order_line__order__sent_at"))
        .order_by()
        .values_list(
            "delivery__supplier_id",
            "order_line__order__sent_at",
            "delivery__at",
            "delivery__site__zone",
            "order_line__order_id",
            "delivery_id",
        )
        .distinct()
    )
    return table(
        (
            (supplier, day - sent.astimezone(zone).date().toordinal(), day)
            for supplier, sent, at, name, _, _ in found
            for zone in [ZoneInfo(name)]
            for day in [at.astimezone(zone).date().toordinal()]
            if sent is not None
        ),
        3,
    )


def known_by(waits: Ints, day: date) -> Ints:
    """The waits that had ended by a day."""
    return waits[waits[:, 2] <= day.toordinal()]


def intervals(suppliers: list[Supplier], waits: Ints) -> Interval:
    """A law a supplier, and a last one for parts that nobody offers."""
    seen = np.zeros((len(suppliers) + 1, LONGEST_DAYS + 1))
    row_of = {supplier.pk: row for row, supplier in enumerate(suppliers)}
    for supplier, days, _ in waits.tolist():
        seen[row_of[supplier], min(days, LONGEST_DAYS)] += 1
    stated = [min(supplier.stated_lead_days, LONGEST_DAYS) for supplier in suppliers]
    usual = round(sum(stated) / len(stated)) if stated else UNKNOWN_DAYS
    last = max(usual, *stated, int(np.flatnonzero(seen.any(axis=0)).max(initial=0))) + 1
    lead = lead_time_chances(seen[:, :last], stated_days=[*stated, usual])
    on_days = [*(supplier.order_days for supplier in suppliers), WORKING_DAYS]
    wait = order_day_wait_chances([[day in days for day in WEEK] for days in on_days])
    return order_interval(lead, wait)
