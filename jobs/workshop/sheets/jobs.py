"""The sheets of jobs: what was planned, agreed, declined and sold."""

from collections.abc import Sequence
from datetime import UTC
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from inventory.catalog.sheets import PART
from inventory.sheet import Column, Row
from inventory.sheet.records import record_sheet
from inventory.shop.models import Site
from inventory.shop.sheets import SITE
from jobs.workshop.models import Approval, Declined, Job, JobLine, PlannedPart
from jobs.workshop.sheets.rows import filled, linked
from jobs.workshop.sheets.vehicles import ACCOUNT, VEHICLE
from jobs.workshop.sheets.wheels import WHEEL

JOB = partial(Column, "Job", "job", to="Jobs", path="job__key", example="EX-J-17")
"""The column of a sheet whose records belong to a job."""


def _closing_days(rows: Sequence[Row]) -> list[Row]:
    """A blank day of closing is the site's own day at that instant."""
    zones = {site.pk: ZoneInfo(site.zone) for site in Site.objects.all()}
    # A sheet without the column: the job is there already, and its site with it.
    bare = [row["pk"] for row in rows if "site" not in row]
    sites = dict(Job.objects.filter(pk__in=bare).values_list("pk", "site"))

    def ready(row: Row) -> Row:
        closed = row.get("closed_at")
        if closed is None or row.get("closed_on") is not None:
            return row
        # A site that comes with the same workbook has no record while its rows are checked.
        site: Any = row["site"] if "site" in row else sites.get(row["pk"])
        return row | {"closed_on": closed.astimezone(zones.get(site, UTC)).date()}

    return [ready(row) for row in rows]


JOBS = linked(
    filled(
        record_sheet(
            Job,
            title="Jobs",
            one="job",
            note="One visit of one vehicle. A comeback names the job it comes back from and why.",
            key=("key",),
            columns=(
                Column("Job", "key", also=("our key", "key"), example="EX-J-17"),
                SITE(),
                VEHICLE(),
                Column("Kind", "kind", also=("type",), example="Sensor job"),
                Column("Booked for", "booked_for"),
                Column("Opened at", "opened_at", example="2026-03-09T14:05:00+00:00"),
                Column("Closed at", "closed_at", example="2026-03-09T15:20:00+00:00"),
                Column("Closed on", "closed_on", help="Blank: the site's day of “Closed at”."),
                Column(
                    "Technician",
                    "technician",
                    to="People",
                    path="technician__username",
                    example="robin",
                ),
                Column("Odometer km", "odometer_km", also=("mileage km",), example=84000),
                Column("Lamp before", "lamp_before", example="Off"),
                Column("Lamp after", "lamp_after", example="Off"),
                ACCOUNT(),
                Column("Order number", "order_number"),
                Column(
                    "Comeback of",
                    "comeback_of",
                    to="Jobs",
                    path="comeback_of__key",
                    example="EX-J-16",
                ),
                Column("Cause", "cause"),
                Column("Payer", "payer", example="Customer"),
                Column("Asked for", "words"),
                Column("Pressures set cold", "pressures_set_cold", example="yes"),
                Column("Wheel nuts tightened", "wheel_nuts_tightened", example="yes"),
                Column("Road checked", "road_checked", example="yes"),
                Column("Why closed without all checks", "left_open_reason"),
            ),
        ),
        _closing_days,
    ),
    Job,
    "comeback_of",
)

PLANNED_PARTS = record_sheet(
    PlannedPart,
    title="Planned parts",
    one="planned part",
    note="Parts a job is expected to need.",
    key=("job", "part"),
    columns=(JOB(), PART(), Column("Quantity", "quantity", also=("qty",), example=1)),
)


def _unsigned(rows: Sequence[Row]) -> list[Row]:
    """Who agreed or declined stays erased where the keeper was forgotten."""
    named = [row["job"] for row in rows if isinstance(row.get("job"), int)]
    forgotten = Job.objects.exclude(vehicle__keeper__erased_at=None).filter(pk__in=named)
    jobs = set(forgotten.values_list("pk", flat=True))
    return [
        row | {"who": "erased"} if row.get("job") in jobs and row.get("who") else row
        for row in rows
    ]


APPROVALS = filled(
    record_sheet(
        Approval,
        title="Approvals",
        one="approval",
        note="What the customer agreed to, who said so and how.",
        key=("job", "at"),
        columns=(
            JOB(),
            Column("At", "at", example="2026-03-09T14:20:00+00:00"),
            Column("What was agreed", "lines", example="two sensor bodies"),
            Column("Agreed by", "who", example="Robin Example"),
            Column("How", "how", example="phone"),
            Column(
                "Decides about a missing sensor",
                "decides_safety",
                example="no",
                help="Yes: they let the vehicle leave with a sensor missing or not working.",
            ),
            WHEEL(),
            Column(
                "Above the limit",
                "above_limit",
                example="no",
                help="Yes: the account agrees that the job goes above its limit.",
            ),
        ),
    ),
    _unsigned,
)

DECLINED = filled(
    record_sheet(
        Declined,
        title="Declined",
        one="declined offer",
        note="What the customer did not want, and why.",
        key=("key",),
        columns=(
            Column("Key", "key", also=("our key",), example="EX-D-17"),
            JOB(),
            WHEEL(),
            Column("What", "action", also=("action",), example="Replace the stem"),
            PART(required=False),
            Column("Price", "price_cents"),
            Column("Why", "why", example="comes back in autumn"),
            Column("For its price", "for_price", example="no"),
            Column("Declined by", "who"),
            Column("At", "at", example="2026-03-09T14:20:00+00:00"),
        ),
    ),
    _unsigned,
)

JOB_LINES = record_sheet(
    JobLine,
    title="Job lines",
    one="job line",
    note="What the job sold. The cost of a part is that of its posting.",
    key=("key",),
    columns=(
        Column("Line", "key", also=("key", "our key"), example="EX-L-17"),
        JOB(),
        Column("Kind", "kind", example="Part"),
        WHEEL(),
        Column("What was done", "action", also=("action",), example="Replace the stem"),
        PART(required=False),
        Column("Posting", "posting", to="Postings", path="posting__key"),
        Column("Words", "words", also=("description",)),
        Column("Pieces or minutes", "quantity", also=("quantity", "minutes"), example=1),
        Column("Price", "price_cents", example="59.90"),
        Column("Labour cost", "labour_cost_cents", also=("labor cost",)),
        Column("Payer", "payer", example="Customer"),
    ),
)

SHEETS = (JOBS, PLANNED_PARTS, APPROVALS, DECLINED, JOB_LINES)
