"""The sheets of the catalogue: vehicles' applications, parts, codes, and which fits which."""

from functools import partial

from inventory.catalog.actions.loaded import log_applications, log_fitments, log_parts
from inventory.catalog.actions.prices import log_prices
from inventory.catalog.codes import normalised
from inventory.catalog.models import (
    Application,
    Evidence,
    Fitment,
    MadeOf,
    Part,
    PartCode,
    SellingPrice,
    Supersession,
    VinPattern,
)
from inventory.catalog.radio import band
from inventory.catalog.valves import hole
from inventory.sheet import Column, Kind
from inventory.sheet.records import record_sheet

PART = partial(
    Column,
    heading="Part",
    field="part",
    to="Parts",
    path="part__number",
    also=("part number", "number", "sku"),
    example="EX-1000",
)
"""The column of a sheet whose records concern a part."""

APPLICATION = partial(
    Column,
    heading="Application",
    field="application",
    to="Applications",
    path="application__key",
    also=("vehicle", "fits"),
    example="EXAMPLE-SEDAN-2016",
)

APPLICATIONS = record_sheet(
    Application,
    title="Applications",
    one="application",
    note="A make, model and span of years that takes the same sensors. Torques and pressures are "
    "the vehicle maker's: leave blank what is not known.",
    key=("key",),
    log=log_applications,
    columns=(
        Column("Key", "key", also=("application", "our key"), example="EXAMPLE-SEDAN-2016"),
        Column("Make", "make", example="Examplemake"),
        Column("Model", "model", example="Sedan"),
        Column("First year", "year_from", also=("from year", "year from"), example=2016),
        Column("Last year", "year_to", also=("to year", "year to"), example=2020),
        Column("Built from", "built_from", kind=Kind.MONTH, example="2015-09"),
        Column("Built to", "built_to", kind=Kind.MONTH, example="2020-06"),
        Column("Trim", "trim"),
        Column("Wheel", "wheel", example="17 in"),
        Column("System", "system", example="Direct"),
        Column(
            "Band", "band", words=band, also=("frequency", "radio band", "mhz"), example="433 MHz"
        ),
        Column("Mounting", "mounting", also=("valve type",), example="Clamp-in"),
        Column("Construction", "construction", example="Two-piece"),
        Column("Valve hole", "hole", words=hole, also=("rim hole",), example=".453 in / 11.5"),
        Column("Sensor place", "sensor_place", example="at the valve"),
        Column("Sensors", "sensors", example=4),
        Column("Spare has sensor", "spare_has_sensor", example="no"),
        Column("Placard front", "placard_front_kpa", example="33 psi"),
        Column("Placard rear", "placard_rear_kpa", example="240 kPa"),
        Column("Placard spare", "placard_spare_kpa", example="4.2 bar"),
        Column("Rated weight kg", "rated_weight_kg", also=("gvwr kg", "gross weight kg")),
        Column("Top speed km/h", "top_speed_kmh", example=190),
        Column("Wheel nut torque", "wheel_nut_torque_cnm", also=("lug nut torque",)),
        Column("Ids stored", "ids_stored", example=4),
        Column("Re-learn", "relearn", also=("relearn procedure",), example="By driving"),
        Column("Re-learn minutes", "relearn_minutes", example=10),
        Column("Re-learn steps", "relearn_steps"),
        Column("Re-learn source", "relearn_source"),
        Column("Status", "status", example="Checked"),
        Column("Source", "source", example="door placard, seen on a vehicle"),
        Column("Source date", "source_date", example="2026-03-09"),
    ),
)

PARTS = record_sheet(
    Part,
    title="Parts",
    one="part",
    note="What the shop sells or fits. A blank torque means: look it up with the part's maker.",
    key=("number",),
    log=log_parts,
    columns=(
        Column(
            "Number",
            "number",
            same=normalised,
            also=("part number", "part", "sku"),
            example="EX-1000",
        ),
        Column("Kind", "kind", also=("type",), example="Sensor assembly"),
        Column("Made by", "maker", also=("maker", "brand", "manufacturer"), example="Examplemaker"),
        Column("Description", "words", example="clamp-in, two-piece"),
        Column(
            "Bands",
            "bands",
            flags=(("315", "band_315"), ("433", "band_433"), ("other", "band_other")),
            choices=(("315", "315 MHz"), ("433", "433 MHz"), ("other", "another band")),
            words=band,
            also=("band", "frequency", "radio band", "mhz"),
            help="One or several, such as 315 MHz; 433 MHz.",
            example="433 MHz",
        ),
        Column("Mounting", "mounting", also=("valve type",), example="Clamp-in"),
        Column("Valve hole", "hole", words=hole, also=("rim hole",), example=".453 in / 11.5"),
        Column("Rated pressure", "rated_pressure_kpa", also=("maximum pressure",)),
        Column("Construction", "construction", example="Two-piece"),
        Column("Universal", "universal", example="no"),
        Column("Preparation", "preparation", example="Ready to fit"),
        Column("Preparation minutes", "preparation_minutes", example=0),
        Column("Id", "new_id", example="A new id"),
        Column("Valve nut torque", "valve_nut_torque_cnm", example="8 N·m"),
        Column("Body screw torque", "body_screw_torque_cnm", example="12 lbf·in"),
        Column("Valve core torque", "core_torque_cnm"),
        Column("List price", "list_price_cents", also=("price", "list"), example="54.90"),
        Column("Shelf life months", "shelf_life_months", example=60),
        Column("Counted", "counted", example="By the piece"),
    ),
)

CODES = record_sheet(
    PartCode,
    title="Codes",
    one="code",
    note="Any other code by which a part is known: printed on it, the vehicle maker's, a GTIN.",
    key=("part", "kind", "code"),
    columns=(
        PART(),
        Column("Kind", "kind", also=("type",), example="Printed on the part"),
        Column("Code", "code", same=normalised, example="EXA1000"),
    ),
)

MADE_OF = record_sheet(
    MadeOf,
    title="Made of",
    one="piece",
    note="An assembly is a body, a stem and a kit; a kit is its pieces.",
    key=("whole", "piece"),
    columns=(
        PART(heading="Whole", field="whole", path="whole__number", also=("assembly", "kit")),
        PART(heading="Piece", field="piece", path="piece__number", also=(), example="EX-1001"),
        Column("Quantity", "quantity", example=1),
    ),
)

FITMENTS = record_sheet(
    Fitment,
    title="Fitments",
    one="fitment",
    note="This part serves this application on these wheels; preference 1 is offered first.",
    key=("application", "part", "axle"),
    log=log_fitments,
    columns=(
        APPLICATION(),
        PART(),
        Column("Axle", "axle", example="All wheels"),
        Column("Preference", "rank", also=("rank",), example=1),
        Column("Quantity per wheel", "quantity", also=("quantity", "qty"), example=1),
        Column("Programmed as", "prepared_as"),
    ),
)

SUPERSESSIONS = record_sheet(
    Supersession,
    title="Supersessions",
    one="supersession",
    note="Which part replaces which.",
    key=("old", "new"),
    columns=(
        PART(heading="Old part", field="old", path="old__number", also=("old", "replaced")),
        PART(
            heading="New part",
            field="new",
            path="new__number",
            also=("new", "replaced by"),
            example="EX-1002",
        ),
        Column("Both ways", "both_ways", example="no"),
        Column("Since", "since", example="2026-01-15"),
        Column("Note", "note"),
    ),
)

SELLING_PRICES = record_sheet(
    SellingPrice,
    title="Selling prices",
    one="selling price",
    note="The shop's own price of a part from a day on.",
    key=("part", "valid_from"),
    log=log_prices,
    columns=(
        PART(),
        Column("From", "valid_from", also=("valid from", "since"), example="2026-03-01"),
        Column("Price", "price_cents", example="59.90"),
    ),
)

EVIDENCE = record_sheet(
    Evidence,
    title="Evidence",
    one="piece of evidence",
    note="What jobs taught about a part on an application.",
    key=("application", "part", "job_key", "kind"),
    columns=(
        APPLICATION(),
        PART(),
        Column("What was seen", "kind", example="Fitted and answered"),
        Column("Built", "built_month", kind=Kind.MONTH, example="2018-04"),
        Column("Job", "job_key", example="EX-J-17"),
        Column("Reason", "reason"),
        Column("At", "at", example="2026-03-09T14:05:00+00:00"),
        Column("By", "by", to="People", path="by__username", example="robin"),
        Column("Settled", "settled", example="no"),
    ),
)

VIN_PATTERNS = record_sheet(
    VinPattern,
    title="VIN patterns",
    one="VIN pattern",
    note="First eight characters of a VIN and a model year, as seen on vehicles.",
    key=("start", "year", "application"),
    columns=(
        Column("Start", "start", also=("first eight characters",), example="ZZZ12345"),
        Column("Year", "year", example=2018),
        APPLICATION(),
        Column("Vehicles seen", "vehicles", example=3),
    ),
)

SHEETS = (
    APPLICATIONS,
    PARTS,
    CODES,
    MADE_OF,
    FITMENTS,
    SUPERSESSIONS,
    SELLING_PRICES,
    EVIDENCE,
    VIN_PATTERNS,
)
