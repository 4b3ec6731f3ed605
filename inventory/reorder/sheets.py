"""The purchasing sheets of the workbook: suppliers, offers, orders, deliveries, claims.

Stock that a delivery brought stands on the ledger's sheet of postings; here a line only names it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from django.db.models import OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.catalog.sheets import PART
from inventory.reorder.actions.goals import logged_as
from inventory.reorder.models import (
    Claim,
    Delivery,
    DeliveryLine,
    Offer,
    OfferBreak,
    Order,
    OrderLine,
    PartGoal,
    Supplier,
)
from inventory.sheet import Column, Row, Saved, Sheet
from inventory.sheet.records import Edit, record_sheet
from inventory.shop.actions import record_changes

SUPPLIER = partial(
    Column,
    heading="Supplier",
    field="supplier",
    to="Suppliers",
    path="supplier__code",
    example="EVS",
)
SITE = partial(Column, heading="Site", field="site", to="Sites", path="site__code", example="QUAY")

SUPPLIERS = record_sheet(
    Supplier,
    title="Suppliers",
    one="supplier",
    note="Who sells to the shop, on which days orders leave, and what an order costs.",
    key=("code",),
    columns=(
        Column("Code", "code", example="EVS"),
        Column("Name", "name", example="Example Valve Supply"),
        Column("Order days", "order_days", example="12345"),
        Column("Order before", "cut_off", example="15:00"),
        Column("Lead days stated", "stated_lead_days", example=2),
        Column("Cost of an order", "order_cost_cents", example="3.50"),
        Column("Freight", "freight_cents", example="12.00"),
        Column("Freight-free from", "freight_free_from_cents", example="250.00"),
        Column("Our number", "our_number"),
        Column("Orders to", "contact"),
    ),
)

OFFERS = record_sheet(
    Offer,
    title="Offers",
    one="offer",
    note="What a supplier asks for a pack of a part, from a day on.",
    key=("supplier", "part", "valid_from"),
    columns=(
        SUPPLIER(),
        PART(),
        Column("Valid from", "valid_from", example="2026-01-01"),
        Column("Valid to", "valid_to"),
        Column("Supplier's number", "supplier_code"),
        Column("Pieces in a pack", "pack", also=("pack", "pack size"), example=1),
        Column("Minimum packs", "minimum_packs", example=1),
        Column("Price of a pack", "pack_price_cents", also=("pack price",), example="21.37"),
        Column("Returnable days", "returnable_days", example=30),
        Column("Return fee per mille", "return_fee_per_mille", example=150),
        Column("Warranty months", "warranty_months", example=24),
    ),
)

PRICE_BREAKS = record_sheet(
    OfferBreak,
    title="Price breaks",
    one="price break",
    note="From so many packs of an offer on, every pack costs this much.",
    key=("supplier", "part", "offer", "from_packs"),
    columns=(
        SUPPLIER(path="offer__supplier__code"),
        PART(path="offer__part__number"),
        Column(
            "Valid from",
            "offer",
            to="Offers",
            beside=("supplier", "part"),
            path="offer__valid_from",
            example="2026-01-01",
        ),
        Column("From packs", "from_packs", example=10),
        Column("Price of a pack", "pack_price_cents", example="19.88"),
    ),
)

ORDERS = record_sheet(
    Order,
    title="Orders",
    one="order",
    note="Orders to suppliers, as drafted and sent.",
    key=("key",),
    columns=(
        Column("Order", "key", example="EVS-260302-1"),
        SUPPLIER(),
        SITE(),
        Column("Status", "status"),
        Column("Made at", "made_at"),
        Column("Sent at", "sent_at"),
        Column("Expected on", "expected_on"),
        Column("Note to the supplier", "words"),
    ),
)

ORDER_LINES = record_sheet(
    OrderLine,
    title="Order lines",
    one="order line",
    note="Packs ordered. What was delivered is counted from the delivery lines.",
    key=("order", "line"),
    columns=(
        Column("Order", "order", to="Orders", path="order__key", example="EVS-260302-1"),
        Column("Line", "line", example=1),
        PART(),
        Column("Packs", "packs", example=4),
        Column("Pieces in a pack", "pack", also=("pack", "pack size"), example=1),
        Column("Price of a pack", "pack_price_cents", also=("pack price",), example="21.37"),
        Column("Suggested packs", "suggested_packs"),
        Column("For job", "job_key"),
        Column("Customer's choice", "wish"),
        Column("Pieces withdrawn", "pieces_withdrawn", example=0),
    ),
)

DELIVERIES = record_sheet(
    Delivery,
    title="Deliveries",
    one="delivery",
    note="What a supplier brought, and when.",
    key=("key",),
    columns=(
        Column("Delivery", "key", example="d-260304-1"),
        SUPPLIER(),
        SITE(),
        Column("Delivery note", "note_number"),
        Column("At", "at"),
    ),
)

_DELIVERY_LINES = record_sheet(
    DeliveryLine,
    title="Delivery lines",
    one="delivery line",
    note="Pieces that came; the order line is blank for what was not ordered.",
    key=("delivery", "line"),
    columns=(
        Column("Delivery", "delivery", to="Deliveries", path="delivery__key", example="d-260304-1"),
        Column("Line", "line", example=1),
        Column(
            "Order",
            "order",
            to="Orders",
            path="order_line__order__key",
            required=False,
            example="EVS-260302-1",
        ),
        Column(
            "Order line",
            "order_line",
            to="Order lines",
            beside=("order",),
            path="order_line__line",
            example=1,
        ),
        PART(),
        Column("Pieces", "pieces", example=4),
        Column("Value", "value_cents", example="85.48"),
        Column("Price queried", "price_queried"),
        Column("Posting", "posting", to="Postings", path="posting__key"),
    ),
)


def _save_delivery_lines(rows: Iterable[Row], *, by: Any) -> Saved:
    saved = _DELIVERY_LINES.save(rows, by=by)
    if saved.added or saved.changed:
        count_delivered()
    return saved


def count_delivered() -> None:
    """Set what every order line has received to the sum of its delivery lines."""
    came = (
        DeliveryLine.objects.filter(order_line=OuterRef("pk"))
        .order_by()
        .values("order_line")
        .annotate(total=Sum("pieces"))
        .values("total")
    )
    OrderLine.objects.update(pieces_delivered=Coalesce(Subquery(came), 0))


DELIVERY_LINES = replace(_DELIVERY_LINES, save=_save_delivery_lines)

CLAIMS = record_sheet(
    Claim,
    title="Claims",
    one="claim",
    note="Failed parts that went or go back to a supplier, and the answer.",
    key=("key",),
    columns=(
        Column("Claim", "key", example="c-260317-1"),
        SUPPLIER(),
        PART(),
        Column("Failed on", "failed_on", example="2026-03-17"),
        Column("Failed on job", "job_key"),
        Column("Fitted by job", "fitted_by_job_key"),
        Column("Fitted on", "fitted_on"),
        Column("Odometer, km", "odometer_km"),
        Column("Printed code", "printed_code"),
        Column("Claim by", "claim_by"),
        Column("Status", "status"),
        Column("Credit", "credit_cents"),
        Column("Sent on", "sent_on"),
        Column("Settled on", "settled_on"),
        Column("What the supplier said", "words"),
    ),
)


def _log_goals(edits: Sequence[Edit], by: Any) -> None:
    goals = PartGoal.objects.select_related("part", "site").in_bulk(
        [edit.record.pk for edit in edits]
    )
    record_changes(
        [(goals[e.record.pk], logged_as(goals[e.record.pk]), e.before, e.after) for e in edits],
        by=by,
    )


PART_GOALS = record_sheet(
    PartGoal,
    title="Part goals",
    one="goal of a part",
    note="Parts with a goal of their own at a site, before what the shop plans for all of them.",
    key=("part", "site"),
    log=_log_goals,
    columns=(
        PART(),
        SITE(),
        Column("Goal", "kind", example="Keep at least so many pieces"),
        Column("Percent or pieces", "amount", example=4),
        Column("Why", "words", example="the fleet does not wait"),
        Column("Set at", "set_at", example="2026-03-02 08:00"),
        Column("By", "by", to="People", path="by__username", example="robin"),
    ),
)

SHEETS: tuple[Sheet, ...] = (
    SUPPLIERS,
    OFFERS,
    PRICE_BREAKS,
    ORDERS,
    ORDER_LINES,
    DELIVERIES,
    DELIVERY_LINES,
    CLAIMS,
    PART_GOALS,
)
