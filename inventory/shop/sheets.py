"""The sheets of the shop itself: its settings, its sites and their bins."""

from collections.abc import Sequence
from functools import partial
from typing import Any

from inventory.sheet import Column, Kind
from inventory.sheet.records import Edit, record_sheet
from inventory.shop.actions import record_changes
from inventory.shop.models import Bin, ShopSettings, Site

SITE = partial(
    Column,
    heading="Site",
    field="site",
    to="Sites",
    path="site__code",
    same=str.lower,
    example="MAIN",
)
"""The column of a sheet whose records belong to a site."""


def _log(edits: Sequence[Edit], by: Any) -> None:
    record_changes([(e.record, "shop settings", e.before, e.after) for e in edits], by=by)


SHOP = record_sheet(
    ShopSettings,
    title="Shop",
    one="row of shop settings",
    note="The shop's own settings: one row.",
    key=(),
    # A load changes the one row; before the first save it is made.
    known=lambda: [((), ShopSettings.objects.get_or_create(pk=1)[0].pk)],
    log=_log,
    columns=(
        Column("Shop name", "name", example="Example Tire and Repair"),
        Column("Address", "address", example="1 Example Street"),
        Column("Currency", "currency", example="USD"),
        # Before the first amount of money, which is read with it.
        Column("Digits after the point", "minor_digits", kind=Kind.MINOR_DIGITS, example=2),
        Column("Pressure unit", "pressure_unit", example="psi"),
        Column("Torque unit", "torque_unit", example="N·m"),
        Column("Dates", "date_order", example="2026-03-09"),
        Column("Prices include tax", "prices_include_tax", example="no"),
        Column("Tax per mille", "tax_per_mille", example=70),
        Column(
            "Labour price an hour",
            "labour_price_cents",
            also=("labor price an hour", "labor rate", "labour rate"),
            example="120.00",
        ),
        Column(
            "Labour cost an hour",
            "labour_cost_cents",
            also=("labor cost an hour",),
            example="45.00",
        ),
        Column(
            "Service data cost a year",
            "service_data_yearly_cents",
            also=("subscriptions a year",),
            example="1200.00",
        ),
        Column("Holding cost percent a year", "holding_percent_per_year", example=25),
        Column("Shelf planned to", "shelf_goal", example="One target for all parts"),
        Column("Service target percent", "service_target_percent", example=95),
        Column("Class A percent", "target_a_percent", example=97),
        Column("Class B percent", "target_b_percent", example=95),
        Column("Class C percent", "target_c_percent", example=90),
        Column("Rush percent", "rush_percent", example=15),
        Column("Gauge tolerance", "gauge_tolerance_kpa", example="1 psi"),
        Column("Owner confirms counts above", "count_confirm_cents", example="100.00"),
    ),
)

SITES = record_sheet(
    Site,
    title="Sites",
    one="site",
    note="Places with shelves of their own; each has its own clock.",
    key=("code",),
    columns=(
        Column("Code", "code", same=str.lower, also=("site", "site code"), example="MAIN"),
        Column("Name", "name", example="Main shop"),
        Column("Kind", "kind", example="Shop"),
        Column("Time zone", "zone", example="America/Chicago"),
        Column("Lost asks logged since", "asks_logged_from", example="2026-03-01"),
    ),
)

BINS = record_sheet(
    Bin,
    title="Bins",
    one="bin",
    note="Where on a site's shelves a part lies.",
    key=("site", "code"),
    columns=(
        SITE(),
        Column("Code", "code", same=str.lower, also=("bin", "location"), example="A-03"),
        Column("Where it is", "words", also=("description",), example="left of the door, third"),
        Column("Kind", "kind", example="Shelf"),
    ),
)

SHEETS = (SHOP, SITES, BINS)
