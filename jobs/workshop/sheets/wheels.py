"""The sheets of wheels, their ids and places, and the pieces that sat in them."""

from functools import partial

from inventory.catalog.sheets import PART
from inventory.catalog.valves import hole
from inventory.sheet import Column
from inventory.sheet.records import record_sheet
from jobs.workshop.models import Fitted, Place, Wheel, WheelId
from jobs.workshop.sheets.rows import linked
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

_PIECE = partial(Column, to="Fitted", example="EX-F-16")

FITTED = linked(
    record_sheet(
        Fitted,
        title="Fitted",
        one="fitted piece",
        note="The life of one body, stem or seal on one wheel. A piece moved to another rim "
        "begins a new row that continues the old one; the halves of a one-piece sensor are "
        "joined.",
        key=("key",),
        columns=(
            Column("Key", "key", also=("our key",), example="EX-F-17"),
            WHEEL(),
            Column("Kind", "kind", also=("piece",), example="Sensor body"),
            PART(required=False),
            Column("Printed code", "printed_code"),
            Column("Since", "since", also=("from", "fitted on"), example="2024-10-12"),
            Column("How known", "since_known", example="Fitted by us"),
            Column("First seen on", "first_seen_on", example="2024-10-12"),
            Column("Last seen good on", "last_good_on"),
            Column("Ended on", "ended_on"),
            Column("Why it ended", "end_reason", also=("end reason",)),
            _PIECE("Continues", "continues", path="continues__key"),
            _PIECE("Joined with", "joined_with", path="joined_with__key"),
            Column("By job", "by_job", to="Jobs", path="by_job__key", example="EX-J-17"),
            Column("Ended by job", "ended_by_job", to="Jobs", path="ended_by_job__key"),
        ),
    ),
    Fitted,
    "continues",
    "joined_with",
)

SHEETS = (WHEELS, WHEEL_IDS, PLACES, FITTED)
