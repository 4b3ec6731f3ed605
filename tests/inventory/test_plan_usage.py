"""The command that gives reorder points from a plain table of usage."""

import csv
import json
import math
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from openpyxl import load_workbook

CARPARTS = Path(__file__).parents[2] / "fixtures" / "carparts.csv"
ASKED = "Part,Jan,Feb,Mar\nK-1,3,0,2\nK-2,0,1,0\n"


@pytest.fixture
def table(tmp_path):
    def written(text=ASKED, name="usage.csv"):
        file = tmp_path / name
        file.write_text(text, encoding="utf-8")
        return str(file)

    return written


def planned(capsys, *arguments):
    call_command("plan_usage", *arguments, "--json")
    return json.loads(capsys.readouterr().out)


def refusal(*arguments):
    with pytest.raises(CommandError) as refused:
        call_command("plan_usage", *arguments)
    assert refused.value.returncode == 1
    return str(refused.value)


class TestPlanUsage:
    def test_gives_a_line_for_each_part_and_target_in_the_order_of_the_file(self, table, capsys):
        lines = planned(capsys, table(), "--target", "0.9,0.98")
        assert [(line["part"], line["target"]) for line in lines] == [
            ("K-1", 0.9),
            ("K-1", 0.98),
            ("K-2", 0.9),
            ("K-2", 0.98),
        ]
        wanted = (
            "rate_per_period reorder_point order_quantity ready_rate unit_fill job_fill "
            "mean_on_hand"
        )
        assert set(wanted.split()) <= set(lines[0])

    @pytest.mark.parametrize("measure", ["unit_fill", "job_fill"])
    def test_reaches_the_target_and_one_piece_less_would_not(self, table, capsys, measure):
        options = ("--measure", measure, "--lead-days", "30")
        line = planned(capsys, table(), "--target", "0.95", *options)[0]
        assert line[measure] >= 0.95
        just_above = repr(line[measure] + 1e-6)
        higher = planned(capsys, table(), "--target", just_above, *options)[0]
        assert higher["reorder_point"] == line["reorder_point"] + 1

    def test_orders_singly_when_an_order_costs_nothing(self, table, capsys):
        assert {line["order_quantity"] for line in planned(capsys, table())} == {1}

    def test_orders_the_economic_quantity_when_an_order_costs_something(self, table, capsys):
        costs = ("--order-cost", "8", "--unit-cost", "20", "--holding-rate", "0.25")
        line = planned(capsys, table(), *costs)[0]
        # Harris (1913): sqrt(2 K d / h), with d pieces a year and h money per piece and year.
        best = math.sqrt(2 * 8 * line["rate_per_period"] * 365 / 30 / (0.25 * 20))
        assert line["order_quantity"] in {math.floor(best), math.ceil(best)}

    def test_does_not_call_a_part_bought_when_asked_that_lies_on_the_shelf(self, table, capsys):
        costs = (
            "--order-cost",
            "8",
            "--unit-cost",
            "1",
            "--holding-rate",
            "0.1",
            "--target",
            "0.1",
        )
        for line in planned(capsys, table(), *costs):
            assert (line["reorder_point"], line["note"]) == (
                -1,
                "Ordered when asked and none is here.",
            )
            assert line["mean_on_hand"] > 1

    def test_takes_a_period_at_its_length(self, table, capsys):
        options = ("--lead-days", "14", "--review-days", "0")
        weekly = planned(capsys, table(), "--period", "week", *options)[0]
        assert weekly["demand_over_wait"] == pytest.approx(2 * weekly["rate_per_period"])

    def test_prints_a_table_a_person_can_read(self, table, capsys):
        call_command("plan_usage", table())
        head, first, *_ = capsys.readouterr().out.splitlines()
        assert head.split("  ")[0] == "part"
        for word in ("used a month", "order at", "jobs served", "on the shelf"):
            assert word in head
        assert first.startswith("K-1")

    def test_writes_a_json_file(self, table, tmp_path, capsys):
        call_command("plan_usage", table(), "--json", "--out", str(tmp_path / "plan.json"))
        assert capsys.readouterr().out == ""
        assert json.loads((tmp_path / "plan.json").read_text())[0]["part"] == "K-1"

    def test_writes_a_csv_in_which_no_part_is_a_formula(self, table, tmp_path):
        file = table("Part,Jan\n=1+1,3\n")
        call_command("plan_usage", file, "--out", str(tmp_path / "plan.csv"))
        with (tmp_path / "plan.csv").open(newline="") as written:
            assert next(csv.DictReader(written))["part"] == "'=1+1"

    def test_writes_a_workbook_in_which_no_part_is_a_formula(self, table, tmp_path):
        file = table("Part,Jan\n=1+1,3\n")
        call_command("plan_usage", file, "--out", str(tmp_path / "plan.xlsx"))
        cell = load_workbook(tmp_path / "plan.xlsx").worksheets[0]["A2"]
        assert (cell.value, cell.data_type) == ("=1+1", "s")

    def test_leaves_no_file_behind_when_it_cannot_write(self, table, tmp_path):
        place = tmp_path / "gone" / "plan.csv"
        assert refusal(table(), "--out", str(place)) == (
            f"{place} cannot be written (No such file or directory); choose another place."
        )

    def test_refuses_to_write_a_kind_it_does_not_know(self, table, tmp_path):
        assert refusal(table(), "--out", str(tmp_path / "plan.pdf")) == (
            "--out plan.pdf must end in .json, .csv, .xlsx or .txt."
        )


class TestUnusualUsage:
    """Lines that must be sane: a number in every field, and a note where one is due."""

    def line(self, table, capsys, row, *arguments):
        header = "Part," + ",".join(f"W{week}" for week in range(1, 27)) + "\n"
        lines = planned(capsys, table(header + row + "\n"), "--period", "week", *arguments)
        assert all(math.isfinite(x) for x in lines[0].values() if not isinstance(x, str))
        return lines[0]

    def test_no_usage_at_all(self, table, capsys):
        line = self.line(table, capsys, "K-1" + ",0" * 26)
        assert line["reorder_point"] == -1
        assert line["mean_on_hand"] == pytest.approx(0, abs=1e-9)
        assert line["note"] == "Nothing was used in the whole table: bought when asked."

    def test_no_period_known(self, table, capsys):
        line = self.line(table, capsys, "K-1" + "," * 26)
        assert line["reorder_point"] == -1

    def test_one_ask_ever(self, table, capsys):
        line = self.line(table, capsys, "K-1,1" + ",0" * 25)
        assert 0 <= line["reorder_point"] <= 2
        assert line["job_fill"] >= 0.95

    def test_all_in_one_period(self, table, capsys):
        line = self.line(table, capsys, "K-1,60" + ",0" * 25)
        assert 1 <= line["reorder_point"] <= 120

    def test_no_lead_time_and_no_wait_for_a_look(self, table, capsys):
        row = "K-1" + ",1" * 26
        line = self.line(table, capsys, row, "--lead-days", "0", "--review-days", "0")
        # Nothing is asked for in no time, so that the one piece on the shelf always serves.
        assert line["reorder_point"] in {0, 1}
        assert line["mean_backorders"] == pytest.approx(0, abs=1e-9)

    def test_forty_thousand_pieces_a_week(self, table, capsys):
        row = "K-1" + "".join(f",{40_000 + 500 * (-1) ** week}" for week in range(26))
        line = self.line(table, capsys, row, "--lead-days", "30", "--review-days", "30")
        assert line["demand_over_wait"] == pytest.approx(40_000 / 7 * 45, rel=0.02)
        # Within 60 days no more than 8.6 weeks of demand can be asked for.
        assert 40_000 / 7 * 45 < line["reorder_point"] < 40_000 / 7 * 66

    def test_slow_parts_are_not_moved_by_a_busy_neighbour(self, table, capsys):
        slow = "\n".join(f"K-{number}" + ",0,1,0,2" * 6 + ",0,1" for number in range(5))
        alone = self.line(table, capsys, slow)
        beside = self.line(table, capsys, slow + "\nK-9" + ",40000,36000" * 13)
        assert abs(beside["reorder_point"] - alone["reorder_point"]) <= 1


class TestRefusals:
    def test_names_sheet_row_and_column_of_a_fault(self, table):
        assert refusal(table("Part,Jan\nK-1,-3\n")) == (
            "usage.csv, row 2, column B: -3 is negative; write the pieces used, 0 or more, in Jan."
        )

    @pytest.mark.parametrize(
        ("options", "said"),
        [
            (["--target", "1.2"], "--target must be between 0 and 1; got 1.2."),
            (["--target", "high"], "--target must be a number; got 'high'."),
            (["--target", "0.9,,"], "--target must be a number; got ''."),
            (["--lead-days", "-1"], "--lead-days must be 0 or more; got -1."),
            (["--review-days", "nan"], "--review-days must be 0 or more; got nan."),
            (["--period", "year"], "--period must be day, week or month; got 'year'."),
            (["--measure", "luck"], "--measure must be unit_fill or job_fill; got 'luck'."),
            (
                ["--order-cost", "8"],
                "An --order-cost above 0 needs a --unit-cost and a --holding-rate above 0.",
            ),
        ],
    )
    def test_refuses_options_in_one_sentence(self, table, options, said):
        assert refusal(table(), *options) == said

    def test_asks_for_the_file(self):
        assert refusal() == "Name the file to plan from: plan_usage FILE."

    def test_refuses_a_file_that_is_not_there(self):
        assert refusal("gone.csv") == "There is no file gone.csv; check its name and folder."


class TestCarParts:
    def test_plans_every_part_of_the_open_history(self, capsys):
        options = ("--lead-days", "30", "--review-days", "30", "--target", "0.95")
        lines = planned(capsys, str(CARPARTS), *options)
        assert len(lines) == 2674
        assert all(line["job_fill"] >= 0.95 for line in lines)
