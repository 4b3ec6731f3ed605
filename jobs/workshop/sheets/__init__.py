"""The workshop's sheets of the workbook, what is named before what names it."""

from inventory.sheet import Sheet
from jobs.workshop.sheets import findings, jobs, pieces, vehicles, wheels

SHEETS: tuple[Sheet, ...] = (
    *vehicles.SHEETS,
    *wheels.SHEETS,
    *pieces.SHEETS,
    *jobs.SHEETS,
    *findings.SHEETS,
)
