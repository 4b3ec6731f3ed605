"""Readings of a whole vehicle from a csv, its columns found by their headings.

Every fault is named by its row; what the cells may say is the readings form's. The short words for
places and results are common practice, no source.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from io import StringIO

from django.core.exceptions import ValidationError

from inventory.catalog.codes import normalised
from inventory.shop.models import PressureUnit, ShopSettings
from jobs.review.forms import ReadingsForm
from jobs.workshop.actions.findings import WheelHeard
from jobs.workshop.models import Battery, Heard, Position, Source
from jobs.workshop.standing import WheelNow

ROWS = 50
_HEADS = {
    "position": ("POSITION", "WHEEL", "PLACE", "LOCATION"),
    "heard": ("HEARD", "STATUS", "RESULT"),
    "pressure": ("PRESSURE", *(f"PRESSURE{unit.upper()}" for unit in PressureUnit)),
    "unit": ("UNIT", "UNITS", "PRESSUREUNIT"),
    "temperature": ("TEMPERATURE", "TEMPERATUREC", "TEMP", "TEMPC"),
    "fahrenheit": ("TEMPERATUREF", "TEMPF"),
    "battery": ("BATTERY", "BATTERYSTATE", "BATTERYSTATUS"),
    "id": ("ID", "SENSORID", "IDHEX", "SENSORIDHEX"),
}
_PLACES = {normalised(place.label): place for place in Position} | {
    words: place
    for place, many in (
        (Position.FRONT_LEFT, ("FL", "LF", "LEFTFRONT")),
        (Position.FRONT_RIGHT, ("FR", "RF", "RIGHTFRONT")),
        (Position.REAR_LEFT, ("RL", "LR", "LEFTREAR")),
        (Position.REAR_RIGHT, ("RR", "RIGHTREAR")),
    )
    for words in many
}
_HEARD = {normalised(heard.label): heard for heard in Heard} | {
    "PLAINVALVE": Heard.PLAIN_VALVE,
    "OK": Heard.ANSWERED,
    "PASS": Heard.ANSWERED,
    "FAIL": Heard.SILENT,
    "NORESPONSE": Heard.SILENT,
}
_BATTERY = {normalised(state.label): state for state in Battery} | {
    "": Battery.NOT_TOLD,
    "OK": Battery.GOOD,
    "LOW": Battery.WEAK,
}


def heard_in_file(data: bytes, wheels: Sequence[WheelNow]) -> list[WheelHeard]:
    """What the file says of these wheels.

    Raises
    ------
    ValidationError
        With every fault by row; a file with one fault says nothing of any wheel.
    """
    rows = _rows(data)
    columns = _columns(rows[0])
    stand = {now.place.position: now for now in wheels if now.place is not None}
    heard: dict[str, list[WheelHeard]] = {}
    faults: list[str] = []
    for number, cells in enumerate(rows[1:], start=2):
        said = {name: cells[at].strip() for name, at in columns.items() if at < len(cells)}
        if not any(said.values()):
            continue
        try:
            place = _place(said, stand)
            if place in heard:
                raise ValidationError(f"{Position(place).label} is told twice; keep one row.")
            heard[place] = _heard(said, rows[0], columns, stand[place])
        except ValidationError as fault:
            faults += [f"Row {number}: {words}" for words in fault.messages]
    if faults or not heard:
        raise ValidationError(faults or "The file has no rows below its headings; save it again.")
    return [line for lines in heard.values() for line in lines]


def _rows(data: bytes) -> list[list[str]]:
    try:
        text = data.decode("utf-8-sig")
        separator = max(",;\t", key=text.partition("\n")[0].count)
        rows = list(csv.reader(StringIO(text), delimiter=separator))
    except (UnicodeDecodeError, csv.Error):
        raise ValidationError("The file cannot be read; save it as CSV UTF-8.") from None
    if not rows or len(rows) > ROWS:
        raise ValidationError(f"The file needs headings and at most {ROWS} rows; save it again.")
    return rows


def _columns(heads: Sequence[str]) -> dict[str, int]:
    columns: dict[str, int] = {}
    for at, head in enumerate(heads):
        name = next((name for name, also in _HEADS.items() if normalised(head) in also), None)
        if name in columns:
            raise ValidationError(f"Two columns tell the {name}; keep one of them.")
        if name is not None:
            columns[name] = at
    if "position" not in columns:
        raise ValidationError("No column is headed “Position”; name the wheel in each row.")
    return columns


def _place(said: Mapping[str, str], stand: Mapping[str, WheelNow]) -> str:
    place = _PLACES.get(normalised(said.get("position", "")))
    if place is None or place not in stand:
        there = ", ".join(now.where.lower() for now in stand.values())
        raise ValidationError(
            f"“{said.get('position', '')}” is no place with a sensor on this vehicle; "
            f"write one of {there}."
        )
    return place


def _heard(
    said: Mapping[str, str], heads: Sequence[str], columns: Mapping[str, int], now: WheelNow
) -> list[WheelHeard]:
    """The cells as the readings form takes them, in the unit that the file says."""
    pressure = said.get("pressure", "")
    unit = _unit(said, heads, columns) if pressure else PressureUnit.KPA
    cells = {
        "heard": _told_heard(said),
        "pressure": pressure.replace(",", "."),
        "temperature": _celsius(said),
        "battery": _BATTERY.get(normalised(said.get("battery", "")), said.get("battery", "")),
        "id": said.get("id", ""),
    }
    form = ReadingsForm(
        {"source": Source.TOOL} | {f"{name}-{now.wheel.pk}": said for name, said in cells.items()},
        wheels=[now],
        shop=ShopSettings(pressure_unit=unit),
    )
    if not form.is_valid():
        raise ValidationError(list(_sentences(form)))
    return form.heard()


def _sentences(form: ReadingsForm) -> Iterator[str]:
    for name, words in form.errors.items():
        for sentence in words:
            yield f"{form.fields[name].label}: {sentence}"


def _told_heard(said: Mapping[str, str]) -> str:
    words = said.get("heard", "")
    if not words and (said.get("pressure") or said.get("id")):
        return Heard.ANSWERED
    if not words:
        raise ValidationError("Say what was heard, such as “answered” or “silent”.")
    if normalised(words) not in _HEARD:
        known = ", ".join(f"“{heard.label.lower()}”" for heard in Heard)
        raise ValidationError(f"“{words}” is nothing that is heard; write one of {known}.")
    return _HEARD[normalised(words)]


def _unit(said: Mapping[str, str], heads: Sequence[str], columns: Mapping[str, int]) -> str:
    headed = normalised(heads[columns["pressure"]]).removeprefix("PRESSURE")
    unit = (said.get("unit") or headed).lower()
    if unit not in PressureUnit.values:
        raise ValidationError(
            "The pressure has no unit; head the column “Pressure psi”, “Pressure kPa” or "
            "“Pressure bar”, or add a column “Unit”."
        )
    return unit


def _celsius(said: Mapping[str, str]) -> str:
    """Whole degrees; what is no number stays as it is, for the form to refuse."""
    told = said.get("temperature") or said.get("fahrenheit", "")
    try:
        degrees = Decimal(told.replace(",", "."))
        if not said.get("temperature"):
            degrees = (degrees - 32) * 5 / 9
        return str(int(degrees.to_integral_value()))
    except (InvalidOperation, ValueError, OverflowError):
        return told
