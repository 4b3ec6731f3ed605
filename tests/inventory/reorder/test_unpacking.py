import pytest

from inventory.catalog.models import PartCode
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.models import OrderLine
from inventory.reorder.unpacking import count_all, count_entry, whole
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def part():
    return make_part(number="QX-4410")


@pytest.fixture
def lines(part):
    """Eight pieces for the shelf and two for a job, of one part."""
    site, supplier = make_site(), make_supplier()
    make_offer(supplier, part)
    order = add_to_draft(supplier, site=site, part=part, pieces=8, by=None).order
    add_to_draft(supplier, site=site, part=part, pieces=2, by=None, job_key="J-7")
    send_order(order, by=None)
    return list(OrderLine.objects.select_related("part").order_by("line"))


def typed(lines, *entries):
    """What the page holds after entries at its one box."""
    told = None
    for entry in entries:
        told = count_entry(told.fields if told else {}, entry, lines)
    return told


def counts(told, lines):
    return [whole(told.fields.get(f"pieces_{line.pk}")) for line in lines]


class TestCountEntry:
    def test_each_scan_counts_one_more(self, lines):
        told = typed(lines, "QX-4410", "qx4410")
        assert counts(told, lines) == [2, 0]
        assert told.words == "2 of QX-4410, 6 missing."

    def test_a_short_number_is_how_many_of_the_part_before_it(self, lines):
        told = typed(lines, "QX-4410", "8")
        assert counts(told, lines) == [8, 0]
        assert (told.words, told.sound) == ("8 of QX-4410: complete.", True)

    def test_a_complete_line_lets_the_next_of_the_part_fill(self, lines):
        assert counts(typed(lines, "QX-4410", "8", "QX-4410", "QX-4410"), lines) == [8, 2]

    def test_more_than_is_to_come_is_counted_and_said(self, lines):
        told = typed(lines, "QX-4410", "8", "QX-4410", "2", "QX-4410")
        assert counts(told, lines) == [8, 3]
        assert told.words == "3 of QX-4410, 1 more than are still to come."
        assert not told.sound

    def test_any_code_of_the_part_will_do(self, part, lines):
        # The check digit 3 is the one of the GS1 General Specifications' own example.
        code = PartCode(part=part, kind="gtin", code="6291041500213")
        code.full_clean()
        code.save()
        assert counts(typed(lines, "06291041500213"), lines) == [1, 0]

    def test_a_part_that_was_not_ordered_stands_apart(self, lines):
        wrong = make_part(number="RZ-77")
        told = typed(lines, "RZ-77", "3")
        assert told.fields[f"other_{wrong.pk}"] == "3"
        assert typed(lines, "RZ-77").words == (
            "RZ-77 was not ordered: send it back, or keep it and say what it cost."
        )

    def test_an_unknown_code_changes_no_count(self, lines):
        told = typed(lines, "QX-4410", "nothing-known")
        assert (counts(told, lines), told.unknown) == ([1, 0], "nothing-known")
        assert told.words == (
            "No part has the code “nothing-known”; check it, or type the part's own number."
        )

    def test_a_number_after_an_unknown_code_counts_no_other_part(self, lines):
        told = typed(lines, "QX-4410", "nothing-known", "7")
        assert counts(told, lines) == [1, 0]
        assert told.words.startswith("No part has the code “7”")

    def test_a_code_of_several_parts_asks_for_the_number(self, lines):
        for part in (make_part(), make_part()):
            code = PartCode(part=part, kind="printed", code="AMB-1")
            code.full_clean()
            code.save()
        assert typed(lines, "AMB-1").words == (
            "Several parts have the code “AMB-1”; type the part's own number instead."
        )

    def test_a_number_before_any_part_is_looked_up_as_a_code(self, lines):
        assert typed(lines, "8").words.startswith("No part has the code “8”")

    def test_an_entry_from_the_same_page_again_counts_once(self, lines):
        before = typed(lines, "QX-4410")
        again = [count_entry(before.fields, "QX-4410", lines) for _ in range(2)]
        assert counts(again[0], lines) == counts(again[1], lines) == [2, 0]

    def test_a_short_number_that_is_a_part_s_code_is_that_part(self, lines):
        short = make_part(number="44")
        told = typed(lines, "QX-4410", "44")
        assert (counts(told, lines), told.fields[f"other_{short.pk}"]) == ([1, 0], "1")

    def test_an_empty_entry_says_what_to_do(self, lines):
        assert typed(lines, "").words == "Scan a part, or type how many of the last came."


class TestCountAll:
    def test_fills_every_line(self, lines):
        assert counts(count_all({}, lines), lines) == [8, 2]


class TestWhole:
    @pytest.mark.parametrize(
        ("typed_in", "count"),
        [("7", 7), (" 12 ", 12), ("", 0), (None, 0), ("-3", 0), ("1.5", 0), ("9" * 40, 0)],
    )
    def test_is_a_count_or_nothing(self, typed_in, count):
        assert whole(typed_in) == count
