"""What a person writes in a cell, and what it is taken for."""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.catalog.radio import band
from inventory.catalog.valves import hole
from inventory.sheet import Column, Kind
from shopparts.workbook.cells import Units, reader
from shopparts.workbook.faults import UnreadableError
from shopparts.workbook.shown import cell_writer

BANDS = (("315", "315 MHz"), ("433", "433 MHz"), ("other", "another band"))
HOLES = (("453", ".453 in / 11.5"), ("625", ".625 in / 15.7"))
MOUNTINGS = (("snap_in", "Snap-in"), ("clamp_in", "Clamp-in"))
NOON = datetime(2026, 3, 9, 12, 0)  # noqa: DTZ001  a cell knows no zone


def column(kind, **declared):
    return Column("Heading", "field", kind=kind, **declared)


def read(kind, said, units=None, heading_unit="", **declared):
    return reader(column(kind, **declared), units or Units(), heading_unit)(said)


def refusal(kind, said, **declared):
    with pytest.raises(UnreadableError) as refused:
        read(kind, said, **declared)
    return str(refused.value)


class TestReader:
    @pytest.mark.parametrize(
        ("kind", "said", "value"),
        [
            (Kind.TEXT, 12345, "12345"),
            (Kind.TEXT, 12345.0, "12345"),
            (Kind.TEXT, 1.5, "1.5"),
            (Kind.WHOLE, "4", 4),
            (Kind.WHOLE, 4.0, 4),
            (Kind.WHOLE, "1,200", 1200),
            (Kind.NUMBER, "2,5", Decimal("2.5")),
            (Kind.REAL, 0.1, 0.1),
            (Kind.MONEY, "12.50", 1250),
            (Kind.MONEY, "$1,234.50", 123450),
            (Kind.MONEY, "12,5", 1250),
            (Kind.MONEY, 12.100000000000001, 1210),
            (Kind.MONEY, -3, -300),
            (Kind.DATE, NOON, date(2026, 3, 9)),
            (Kind.DATE, "2026-03-09", date(2026, 3, 9)),
            (Kind.MONTH, NOON, date(2026, 3, 1)),
            (Kind.MONTH, "2026-3", date(2026, 3, 1)),
            (Kind.MONTH, "3/2026", date(2026, 3, 1)),
            (Kind.TIME, "9:30", time(9, 30)),
            (Kind.TIME, time(9, 30), time(9, 30)),
            (Kind.INSTANT, NOON, NOON.replace(tzinfo=UTC)),
            (Kind.INSTANT, "2026-03-09T06:00:00-06:00", NOON.replace(tzinfo=UTC)),
            (Kind.YES_NO, True, True),
            (Kind.YES_NO, "Y", True),
            (Kind.YES_NO, 0, False),
        ],
    )
    def test_reads(self, kind, said, value):
        assert read(kind, said) == value

    # 1 psi = 6.894757 kPa, 1 lbf·in = 0.1129848 N·m (NIST SP 811 App. B.8, second-hand).
    @pytest.mark.parametrize(
        ("kind", "said", "heading_unit", "value"),
        [
            (Kind.PRESSURE, "35 psi", "", 241),
            (Kind.PRESSURE, "240 kPa", "", 240),
            (Kind.PRESSURE, "2.4bar", "", 240),
            (Kind.PRESSURE, "2,4 Bar", "", 240),
            (Kind.PRESSURE, 35, "", 241),
            (Kind.PRESSURE, 240, "kpa", 240),
            (Kind.PRESSURE, "35 PSI", "kpa", 241),
            (Kind.TORQUE, "8 N·m", "", 800),
            (Kind.TORQUE, "8 Nm", "", 800),
            (Kind.TORQUE, "800 cN·m", "", 800),
            (Kind.TORQUE, 800, "cnm", 800),
            (Kind.TORQUE, "62 lbf·in", "", 701),
            (Kind.TORQUE, "62 in-lb", "", 701),
            (Kind.TORQUE, "80 ft-lb", "", 10847),
            (Kind.TORQUE, 8, "", 800),
            (Kind.TORQUE, 62, "lbfin", 701),
        ],
    )
    def test_reads_measures_with_their_units(self, kind, said, heading_unit, value):
        assert read(kind, said, heading_unit=heading_unit) == value

    def test_a_bare_measure_is_in_the_shops_unit(self):
        units = Units(pressure="bar", torque="lbf_in")
        assert read(Kind.PRESSURE, "2.4", units) == 240
        assert read(Kind.TORQUE, 62, units) == 701

    # Labels that name one band or one hole: common practice, no source.
    @pytest.mark.parametrize(
        ("said", "value"),
        [(315, "315"), ("315 mhz", "315"), ("433.92", "433"), (434, "433"), ("2.4 GHz", "other")],
    )
    def test_reads_bands_by_any_of_their_labels(self, said, value):
        assert read(Kind.CHOICE, said, choices=BANDS, words=band) == value

    @pytest.mark.parametrize(
        ("said", "value"), [(11.5, "453"), (".453 in", "453"), ("0.625", "625"), ("625", "625")]
    )
    def test_reads_holes_by_any_of_their_names(self, said, value):
        assert read(Kind.CHOICE, said, choices=HOLES, words=hole) == value

    @pytest.mark.parametrize("said", ["snap-in", "SNAP IN", "Snapin", "snap_in"])
    def test_reads_choices_whatever_their_case_and_blanks(self, said):
        assert read(Kind.CHOICE, said, choices=MOUNTINGS) == "snap_in"

    @pytest.mark.parametrize("said", ["315/433.92", "433 MHz; 315 MHz", "315 and 433", "315, 434"])
    def test_reads_several_choices(self, said):
        assert read(Kind.CHOICES, said, choices=BANDS, words=band) == {"315", "433"}

    @pytest.mark.parametrize(
        ("kind", "said", "declared", "sentence"),
        [
            (Kind.WHOLE, "soon", {}, "“soon” is not a whole number; write one such as 4"),
            (Kind.WHOLE, 2.5, {}, "“2.5” is not a whole number; write one such as 4"),
            (Kind.WHOLE, True, {}, "“True” is not a whole number; write one such as 4"),
            (
                Kind.WHOLE,
                "1e999999999",
                {},
                "“1e999999999” is not a whole number; write one such as 4",
            ),
            (Kind.REAL, "inf", {}, "“inf” is not a number; write one such as 2.5"),
            (Kind.NUMBER, "many", {}, "“many” is not a number; write one such as 2.5"),
            (Kind.WHOLE, "nan", {}, "“nan” is not a whole number; write one such as 4"),
            (
                Kind.WHOLE,
                -1,
                {"low": 0, "high": 9},
                "“-1” is less than can be; write a number from 0 to 9",
            ),
            (Kind.WHOLE, 0, {"low": 1}, "“0” is less than can be; write 1 or more"),
            (
                Kind.MONEY,
                "12.505",
                {},
                "“12.505” has more than 2 digits after the point; write an amount such as 12.50",
            ),
            (
                Kind.MONEY,
                "1.5x",
                {},
                "“1.5x” is not an amount of money; write one such as 12.50",
            ),
            (
                Kind.DATE,
                "03/09/2026",
                {},
                "“03/09/2026” is not a date; write one such as 2026-03-09",
            ),
            (Kind.DATE, 46000, {}, "“46000” is not a date; write one such as 2026-03-09"),
            (Kind.MONTH, "2026-13", {}, "“2026-13” is not a month; write one such as 2019-04"),
            (Kind.TIME, "noon", {}, "“noon” is not a time; write one such as 15:00"),
            (
                Kind.INSTANT,
                "today",
                {},
                "“today” is not a date and time; write one such as 2026-03-09T14:05:00Z",
            ),
            (Kind.YES_NO, "maybe", {}, "“maybe” is neither yes nor no; write one of the two"),
            (
                Kind.PRESSURE,
                "35 stone",
                {},
                "“35 stone” is not a pressure; write one such as 35 psi, 240 kPa or 2.4 bar",
            ),
            (
                Kind.TORQUE,
                "tight",
                {},
                "“tight” is not a torque; write one such as 8 N·m or 62 lbf·in",
            ),
            (
                Kind.CHOICE,
                "welded",
                {"choices": MOUNTINGS},
                "“welded” is none of the choices; write one of: Snap-in, Clamp-in",
            ),
            (Kind.TEXT, "abcd", {"longest": 3}, "“abcd” has 4 characters; write at most 3"),
            (Kind.TEXT, "#N/A", {}, "the formula gives #N/A; correct it"),
            (
                Kind.TEXT,
                datetime(2026, 2, 1),  # noqa: DTZ001
                {},
                "the cell holds the date or time 2026-02-01 and not text; format it as text and "
                "write it again",
            ),
        ],
    )
    def test_says_what_it_cannot_read_and_what_it_expected(self, kind, said, declared, sentence):
        assert refusal(kind, said, **declared) == sentence

    @settings(deadline=None)
    @given(cents=st.integers(-(2**31), 2**31), digits=st.integers(0, 3))
    def test_amounts_come_back(self, cents, digits):
        shown = cell_writer(column(Kind.MONEY), digits)(cents)
        # openpyxl gives a number cell back as int or float.
        as_read = int(shown) if shown == int(shown) else float(shown)
        assert read(Kind.MONEY, as_read, Units(minor_digits=digits)) == cents

    @settings(deadline=None)
    @given(value=st.floats(allow_nan=False, allow_infinity=False))
    def test_floats_come_back(self, value):
        shown = cell_writer(column(Kind.REAL), 2)(value)
        assert read(Kind.REAL, shown) == value

    @settings(deadline=None)
    @given(value=st.integers(0, 2**31 - 1))
    def test_pressures_and_torques_come_back(self, value):
        assert read(Kind.PRESSURE, cell_writer(column(Kind.PRESSURE), 2)(value), None, "kpa") == (
            value
        )
        shown = cell_writer(column(Kind.TORQUE), 2)(value)
        assert read(Kind.TORQUE, float(shown), None, "nm") == value
