"""The sheets of accounts, keepers, vehicles and their wheel sets.

What a keeper had erased does not come back with an old workbook.
"""

from collections.abc import Sequence
from functools import partial

from inventory.catalog.sheets import APPLICATION
from inventory.sheet import Column, Kind, Row
from inventory.sheet.records import record_sheet
from jobs.workshop.models import Account, Keeper, Vehicle, WheelSet
from jobs.workshop.sheets.rows import filled

VEHICLE = partial(
    Column, "Vehicle", "vehicle", to="Vehicles", path="vehicle__key", example="EX-V-17"
)
"""The column of a sheet whose records belong to a vehicle."""

ACCOUNT = partial(
    Column, "Account", "account", to="Accounts", path="account__name", example="Example Deliveries"
)

ACCOUNTS = record_sheet(
    Account,
    title="Accounts",
    one="account",
    note="Fleets and trade customers: many vehicles, one who approves.",
    key=("name",),
    columns=(
        Column("Name", "name", also=("account", "fleet"), example="Example Deliveries"),
        Column("Order number needed", "order_number_needed", example="no"),
        Column("Approver", "approver", example="R. Example"),
        Column("Approve above", "limit_cents", example="250.00"),
        Column("Discount per mille", "discount_per_mille", example=50),
        Column("Policy", "policy"),
    ),
)


def _forgetting(rows: Sequence[Row]) -> list[Row]:
    kept = Keeper.objects.filter(pk__in=[row["pk"] for row in rows if row["pk"] is not None])
    erased = set(kept.exclude(erased_at=None).values_list("pk", flat=True))
    return [{"pk": row["pk"], "key": row["key"]} if row["pk"] in erased else row for row in rows]


KEEPERS = filled(
    record_sheet(
        Keeper,
        title="Keepers",
        one="keeper",
        note="Who brings the vehicle. Name and phone may be left blank.",
        key=("key",),
        columns=(
            Column("Key", "key", also=("our key",), example="EX-K-17"),
            Column("Name", "name", also=("customer",), example="Robin Example"),
            Column("Phone", "phone", also=("telephone",)),
            Column("Erased at", "erased_at"),
        ),
    ),
    _forgetting,
)

VEHICLES = record_sheet(
    Vehicle,
    title="Vehicles",
    one="vehicle",
    note="Vehicles the shop has seen.",
    key=("key",),
    columns=(
        Column("Key", "key", also=("our key", "vehicle"), example="EX-V-17"),
        Column("VIN", "vin"),
        Column("Plate", "plate", also=("license plate", "registration"), example="EXA 117"),
        APPLICATION(also=("fits",)),
        Column("Model year", "model_year", also=("year",), example=2018),
        Column("Built", "built_month", kind=Kind.MONTH, example="2018-04"),
        Column("Built known from", "built_known", example="Door label"),
        Column("In service since", "in_service_on", example="2018-06-01"),
        Column(
            "Keeper",
            "keeper",
            to="Keepers",
            path="keeper__key",
            also=("customer",),
            example="EX-K-17",
        ),
        ACCOUNT(),
        Column("Unit number", "unit_number", also=("unit",)),
        Column("Pressure set", "pressure_set_kpa"),
    ),
)

WHEEL_SETS = record_sheet(
    WheelSet,
    title="Wheel sets",
    one="wheel set",
    note="Wheels mounted and stored together, such as a winter set.",
    key=("vehicle", "name"),
    columns=(
        VEHICLE(),
        Column("Set", "name", also=("name",), example="Winter"),
        Column("Stored where", "stored_where", example="rack 4"),
    ),
)

SHEETS = (ACCOUNTS, KEEPERS, VEHICLES, WHEEL_SETS)
