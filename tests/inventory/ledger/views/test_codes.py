import pytest
from django.urls import reverse

from inventory.catalog.models import PartCode
from inventory.shop.models import Change
from tests.inventory.ledger.views.pages import text_of
from tests.make import make_part

pytestmark = pytest.mark.django_db


class TestCodeLink:
    def link(self, client, part, code="L-9", kind="label", following="/scan/move/"):
        address = reverse("inventory:code_link") + f"?code={code}&q={part}&next={following}"
        form = {"key": "k", "code": code, "part": part.pk, "kind": kind}
        return client.post(address, form)

    def test_finds_the_part_and_knows_it_by_the_code(self, manager):
        part = make_part(number="AB-1")
        address = reverse("inventory:code_link")
        assert "Which part is “L-9”?" in text_of(manager.get(address, {"code": "L-9"}))
        for _ in range(2):
            assert self.link(manager, part).headers["Location"] == "/scan/move/"
        assert PartCode.objects.get().code_key == "L9"
        assert Change.objects.get().words == "code of AB-1"

    def test_never_leads_away_from_the_shop(self, manager):
        answer = self.link(manager, make_part(), following="//example.com/")
        assert answer.headers["Location"] == reverse("inventory:scan_issue")

    def test_a_label_of_another_part_is_refused(self, manager):
        self.link(manager, make_part())
        answer = self.link(manager, make_part())
        assert "Another part has this GTIN or label; check the code." in text_of(answer)

    def test_is_not_for_the_technician(self, technician):
        assert self.link(technician, make_part()).status_code == 403
        assert not PartCode.objects.exists()
