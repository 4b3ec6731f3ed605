from collections import Counter

import pytest

from fixtures.build_demo_shop import TARGET, fingerprint, fingerprint_in
from fixtures.demo.costs import costs_shown, distinctive_costs
from fixtures.demo.history import History, demo_rows
from fixtures.demo.today import CASES
from inventory.catalog.codes import gtin14
from inventory.catalog.vin import passes_check_digit


@pytest.fixture(scope="module")
def rows():
    return demo_rows()


class TestDemoWorkbook:
    def test_was_built_from_the_rows_as_they_are_now(self, rows):
        # After a change of fixtures/demo: python -m fixtures.build_demo_shop
        assert fingerprint_in(TARGET) == fingerprint(rows)


class TestDistinctiveCosts:
    def test_no_price_of_a_part_can_be_taken_for_one(self, rows):
        prices = {row["price_cents"] for row in rows.of("Selling prices")}
        prices |= {row["list_price_cents"] for row in rows.of("Parts")}
        assert {cents % 50 for cents in prices} == {0}
        assert {amount[-2:] for amount in distinctive_costs()} == {"37", "83"}


class TestCostsShown:
    def test_finds_whole_amounts_only(self):
        assert costs_shown("cost $28.37, price $194.83, 1,028.37 and 28.375") == {"28.37"}


class TestDemoCatalogue:
    def test_every_gtin_passes_its_check_digit(self, rows):
        # GS1 General Specifications: weights 3, 1, 3, 1 … from the right.
        gtins = [row["code"] for row in rows.of("Codes") if row["kind"] == "gtin"]
        assert len(gtins) == len(set(gtins)) == len(rows.of("Parts"))
        assert all(gtin14(gtin) for gtin in gtins)

    def test_holds_sixty_applications_of_every_sort(self, rows):
        made = rows.of("Applications")
        assert len(made) == 60
        assert {row.get("band") for row in made} == {None, "315", "433", "other"}
        assert {row.get("mounting") for row in made} == {None, "snap_in", "clamp_in", "strap"}
        assert {row.get("construction") for row in made} == {None, "one_piece", "two_piece"}
        assert {row["sensors"] for row in made} == {0, 4, 5}
        assert any(row["built_to"] for row in made)

    def test_every_part_fits_something_or_is_a_piece_of_a_kit(self, rows):
        used = {row["part"] for row in rows.of("Fitments")}
        used |= {row["piece"] for row in rows.of("Made of")}
        used |= {row["old"] for row in rows.of("Supersessions")}
        left = {row["number"] for row in rows.of("Parts")} - used
        assert len(left) < 20


class TestDemoHistory:
    def test_is_the_same_every_time(self, rows):
        assert demo_rows().sheets == rows.sheets

    def test_another_seed_is_another_history(self, rows):
        assert History(seed=1).run().of("Jobs") != rows.of("Jobs")

    def test_holds_three_years_of_jobs_most_of_them_tire_changes(self, rows):
        kinds = Counter(row["kind"] for row in rows.of("Jobs"))
        assert 3000 <= kinds.total() <= 3500
        assert kinds["tire_change"] > kinds["sensor"] + kinds["relearn"]
        opened = [row["opened_at"] for row in rows.of("Jobs")]
        assert (max(opened) - min(opened)).days > 3 * 365 - 10

    def test_every_vin_passes_its_check_digit_and_names_no_maker(self, rows):
        # 49 CFR 565.15; no region of ISO 3780 begins with 0 (from memory).
        vins = [row["vin"] for row in rows.of("Vehicles")]
        assert len(vins) == len(set(vins))
        assert all(vin.startswith("0") and passes_check_digit(vin) for vin in vins)

    def test_no_two_mounted_wheels_of_a_vehicle_share_an_id(self, rows):
        vehicle = {row["key"]: row["vehicle"] for row in rows.of("Wheels")}
        stored = {
            row["wheel"]
            for row in rows.of("Places")
            if row["until"] is None and row["position"] == "stored"
        }
        now = [r for r in rows.of("Wheel ids") if r["until"] is None and r["wheel"] not in stored]
        ids = Counter((vehicle[row["wheel"]], row["sensor_id"]) for row in now)
        assert max(ids.values()) == 1

    def test_some_winter_sets_carry_copied_ids(self, rows):
        assert any(row["origin"] == "copied" for row in rows.of("Wheel ids"))

    def test_no_shelf_is_ever_below_nothing(self, rows):
        left: Counter[tuple[str, str]] = Counter()
        for row in sorted(rows.of("Postings"), key=lambda row: row["happened_at"]):
            if row["kind"] in {"taken_off", "to_supplier"}:
                continue
            left[row["site"], row["part"]] += row["pieces"]
            assert left[row["site"], row["part"]] >= 0, row["key"]

    def test_every_issue_serves_an_ask_and_is_sold_on_a_line(self, rows):
        issued = {row["key"] for row in rows.of("Postings") if row["kind"] == "issued"}
        assert issued == {row["posting"] for row in rows.of("Ask outcomes") if row["posting"]}
        assert issued == {row["posting"] for row in rows.of("Job lines") if row.get("posting")}

    def test_some_asks_end_in_every_way(self, rows):
        ways = {row["how"] for row in rows.of("Ask outcomes")}
        assert {"shelf", "substitute", "bought_in", "moved_here", "lost"} <= ways

    def test_one_lot_fails_far_more_often_than_its_like(self, rows):
        universal = [
            row
            for row in rows.of("Fitted")
            if row["kind"] == "body" and row["part"].startswith("ULV-B20") and row["by_job"]
        ]
        bad = [row for row in universal if row["printed_code"] == "UL2507C"]
        good = [row for row in universal if row["printed_code"] != "UL2507C"]
        assert len(bad) > 20
        assert share_silent(bad) > 3 * share_silent(good)

    def test_the_yard_holds_a_vehicle_for_each_case(self, rows):
        waiting = {row["words"] for row in rows.of("Jobs") if row.get("closed_at") is None}
        assert {case.words for case in CASES} <= waiting

    def test_desks_have_work(self, rows):
        states = Counter(row["status"] for row in rows.of("Orders"))
        assert states["draft"] > 1
        assert states["sent"] > 1
        assert {"open", "sent", "credited", "refused"} <= {r["status"] for r in rows.of("Claims")}
        assert any(row["arrived_at"] for row in rows.of("Holds"))

    def test_prices_and_costs_of_lines_can_be_told_apart(self, rows):
        cents = {row["price_cents"] % 10 for row in rows.of("Job lines")}
        assert cents <= {0, 5}


def share_silent(pieces):
    return sum(row["end_reason"] == "silent" for row in pieces) / len(pieces)
