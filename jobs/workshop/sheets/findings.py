"""The sheets of readings, inspections and the advice as it was shown."""

from inventory.catalog.radio import band
from inventory.sheet import Column
from inventory.sheet.records import record_sheet
from jobs.workshop.models import AdviceGiven, Inspection, Reading
from jobs.workshop.sheets.jobs import JOB
from jobs.workshop.sheets.wheels import WHEEL

READINGS = record_sheet(
    Reading,
    title="Readings",
    one="reading",
    note="What tool, gauge or dash said of a wheel on a job. The last of a source counts.",
    key=("job", "wheel", "source", "at"),
    columns=(
        JOB(),
        WHEEL(),
        Column("Source", "source", required=True, example="Trigger tool"),
        Column("At", "at", example="2026-03-09T14:10:00+00:00"),
        Column("Tries", "tries", example=1),
        Column("Heard", "heard", example="Answered"),
        Column("Pressure", "pressure_kpa", example="33 psi"),
        Column("Temperature C", "temperature_c", example=21),
        Column("Band", "band", words=band, also=("frequency", "mhz"), example="433 MHz"),
        Column("Battery", "battery", example="Good"),
        Column("Sensor id", "sensor_id", also=("id",), example="1A2B3C4D"),
        Column("Known to the vehicle", "id_stored_in_vehicle", example="yes"),
    ),
)

INSPECTIONS = record_sheet(
    Inspection,
    title="Inspections",
    one="inspection",
    note="What was seen on a wheel of a job, by eye and soap water.",
    key=("job", "wheel"),
    columns=(
        JOB(),
        WHEEL(),
        Column("Tire off", "tire_off", example="yes"),
        Column("Leaks at", "leak_at", example="No leak"),
        Column("Stem", "stem", example="Sound"),
        Column("Sealant inside", "sealant_inside", example="no"),
        Column("At", "seen_at", example="2026-03-09T14:12:00+00:00"),
    ),
)

ADVICE_GIVEN = record_sheet(
    AdviceGiven,
    title="Advice given",
    one="advice",
    note="The advice as it was shown, before the outcome was known.",
    key=("job", "wheel", "at"),
    columns=(
        JOB(),
        WHEEL(),
        Column("At", "at", example="2026-03-09T14:15:00+00:00"),
        Column("Advice", "action", also=("action",), example="Replace the sensor body"),
        Column("Strength", "strength", example="Must"),
        Column("Because", "because", example="silent after two tries"),
        Column("How sure per mille", "sure_per_mille", example=940),
        Column("Body fails per mille", "body_fails_per_mille", example=310),
        Column("Horizon days", "horizon_days", example=1461),
        Column("What was done", "taken", example="Replace the sensor body"),
        Column("Why another action", "taken_reason"),
    ),
)

SHEETS = (READINGS, INSPECTIONS, ADVICE_GIVEN)
