import re

import pytest
from reportlab import rl_config
from reportlab.graphics.barcode.code128 import Code128
from reportlab.lib.units import mm

from inventory.catalog.models import PartCode
from inventory.ledger.labels import (
    SHEETS,
    THINNEST_BAR,
    Label,
    bars_of,
    bin_label,
    fitting_size,
    labels_pdf,
    part_label,
)
from inventory.ledger.scanned import scanned
from tests.make import make_bin, make_part, make_site


@pytest.fixture(autouse=True)
def _readable(monkeypatch):
    """Page contents in plain text, so that they can be looked at."""
    monkeypatch.setattr(rl_config, "pageCompression", 0)


def label(number):
    return Label(head=f"H{number}", words="words", code=f"C-{number}")


def pages(pdf):
    return len(re.findall(rb"/Type /Page\b(?!s)", pdf))


@pytest.mark.parametrize("name", SHEETS)
class TestSheets:
    def test_every_label_lies_on_the_paper_and_none_on_another(self, name):
        sheet = SHEETS[name]
        corners = [sheet.corner(place) for place in range(sheet.labels)]
        for x, y in corners:
            assert -0.01 <= x <= sheet.paper[0] - sheet.width + 0.01
            assert -0.01 <= y <= sheet.paper[1] - sheet.height + 0.01
        for x, y in corners:
            near = [c for c in corners if abs(c[0] - x) < sheet.width - 0.01]
            assert sum(abs(c[1] - y) < sheet.height - 0.01 for c in near) == 1

    def test_is_as_its_title_says(self, name):
        sheet = SHEETS[name]
        assert f"{sheet.labels} labels" in sheet.title

    def test_a_label_more_takes_a_second_sheet(self, name):
        sheet = SHEETS[name]
        labels = [label(number) for number in range(sheet.labels)]
        assert pages(labels_pdf(labels, sheet)) == 1
        assert pages(labels_pdf(labels, sheet, used=1)) == 2


class TestLabelsPdf:
    def test_says_what_is_read_and_what_is_scanned(self):
        pdf = labels_pdf([Label(head="A-3", words="left rack", code="BIN-A-3")], SHEETS["a4-24"])
        for words in (b"(A-3)", b"(left rack)", b"(BIN-A-3)"):
            assert words in pdf
        assert pdf.count(b" re f") > 20

    def test_labels_used_already_stay_free(self):
        sheet = SHEETS["a4-24"]
        first, second = (labels_pdf([label(1)], sheet, used=used) for used in (0, 1))
        assert first != second
        assert sheet.corner(1)[0] == pytest.approx(70 * mm)


class TestBarsOf:
    # Code 128 (ISO/IEC 15417): 11 modules for the start, each symbol and the check symbol, 13 for
    # the stop; in set C two digits are one symbol. Computed by hand.
    @pytest.mark.parametrize(("code", "modules"), [("AB", 11 * 4 + 13), ("1234", 11 * 4 + 13)])
    def test_has_the_modules_the_standard_says(self, code, modules):
        assert Code128(code, barWidth=1, quiet=False).width == modules

    def test_is_never_wider_than_its_room_nor_too_thin(self):
        for length in range(1, 41):
            bars = bars_of("A" * length, 60 * mm, height=10)
            if bars is not None:
                assert bars.width <= 60 * mm
                assert bars.barWidth >= THINNEST_BAR
        assert bars is None

    def test_what_code_128_cannot_say_has_no_bars(self):
        assert bars_of("ł-1", 60 * mm, height=10) is None


class TestFittingSize:
    def test_long_words_are_set_smaller(self):
        assert fitting_size("A3", 100, 20) == 20
        assert fitting_size("A" * 40, 100, 20) < 5


@pytest.mark.django_db
class TestLabels:
    def test_a_scanned_label_finds_its_bin_and_no_part(self):
        site = make_site()
        bin = make_bin(site, code="A-3")
        make_part(number="A3")
        assert scanned(bin_label(bin).code, site).bin == bin
        assert scanned("A3", site).bin is None

    def test_a_part_is_labelled_with_our_own_code_if_it_has_one(self):
        part = make_part(number="AB-1")
        assert part_label(part).code == "AB-1"
        PartCode.objects.create(part=part, kind="label", code="L-7", code_key="L7")
        assert part_label(part).code == "L-7"
        assert scanned("L-7", make_site()).part == part
