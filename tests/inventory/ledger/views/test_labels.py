import pytest
from django.urls import reverse

from tests.inventory.ledger.views.pages import text_of
from tests.make import make_bin, make_part

pytestmark = pytest.mark.django_db


class TestLabelPrint:
    def make(self, client, **fields):
        form = {"sheet": "letter-30", "used": 2, "copies": 2} | fields
        return client.post(reverse("inventory:label_print"), form)

    def test_makes_a_pdf_of_bins_and_parts(self, technician, site):
        part, bin = make_part(number="AB-1"), make_bin(site)
        answer = self.make(technician, bins=[bin.pk], parts=f"ab 1\n\n{part.number}")
        assert answer.headers["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")

    @pytest.mark.parametrize(
        ("fields", "said"),
        [
            ({}, "Nothing to print was chosen; choose bins, or write parts."),
            ({"parts": "ZZ-9"}, "“ZZ-9” is not the number of one part; correct that line."),
            ({"parts": "A\n" * 1001}, "1001 lines are too many; print 1000 at a time."),
        ],
    )
    def test_says_what_is_wrong(self, technician, fields, said):
        assert said in text_of(self.make(technician, **fields))

    def test_makes_no_more_than_a_printer_should_get(self, technician):
        numbers = [make_part(number=f"AB-{number}").number for number in range(21)]
        answer = self.make(technician, parts="\n".join(numbers), copies=50)
        assert "1050 labels are too many; print 1000 at a time." in text_of(answer)
