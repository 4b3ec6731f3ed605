"""The sheets of wheels, their ids and places."""

from functools import partial

from inventory.catalog.valves import hole
from inventory.sheet import Column
from inventory.sheet.records import record_sheet
from jobs.workshop.models import Place, Wheel, WheelId
from jobs.workshop.sheets.vehicles import VEHICLE

WHEEL = partial(Column, "Wheel", "wheel", to="Wheels", path="wheel__key", example="EX-V-17-1")
"""The column of a sheet whose records concern a wheel."""

WHEELS = record_sheet(
    Wheel,
    title="Wheels",
    one="wheel",
    note="Each rim with its tire, wherever it stands.",
    key=("key",),
    columns=(
        Column("Key", "key", also=("our key", "wheel"), example="EX-V-17-1"),
        VEHICLE(),
        Column(
            "Set",
            "wheel_set",
            to="Wheel sets",
            beside=("vehicle",),
            path="wheel_set__name",
            example="Winter",
        ),
        Column("Kind", "kind", example="As built"),
        Column("Valve hole", "hole", words=hole, also=("rim hole",), example=".453 in / 11.5"),
        Column("Tire size", "tire_size", example="205/55R16"),
        Column("Tire date code", "tire_date_code", example="2324"),
        Column("Tread 0.1 mm", "tread_tenths_mm", example=62),
        Column("Tire fitted on", "tire_fitted_on", example="2024-10-12"),
    ),
)

WHEEL_IDS = record_sheet(
    WheelId,
    title="Wheel ids",
    one="wheel id",
    note="Which id a wheel answered with, from when to when; blank while it lasts.",
    key=("wheel", "since"),
    columns=(
        WHEEL(),
        Column("Since", "since", also=("from",), example="2024-10-12"),
        Column("Until", "until", also=("to",)),
        Column("Sensor id", "sensor_id", also=("id",), example="1A2B3C4D"),
        Column("Origin", "origin", example="New sensor"),
    ),
)

PLACES = record_sheet(
    Place,
    title="Places",
    one="place",
    note="Where a wheel stood, from when to when; blank while it stands there.",
    key=("wheel", "since"),
    columns=(
        WHEEL(),
        Column("Since", "since", also=("from",), example="2024-10-12"),
        Column("Until", "until", also=("to",)),
        Column("Position", "position", also=("place",), example="Front left"),
    ),
)

SHEETS = (WHEELS, WHEEL_IDS, PLACES)
