from datetime import UTC, date, datetime

import pytest

from inventory.ledger.actions import receive_stock
from inventory.reorder import sheets
from inventory.reorder.models import Claim, DeliveryLine, OrderLine, PartGoal
from inventory.shop.models import Change
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


def loaded(sheet, **values):
    """A row as the workbook's engine hands it over: every column, references as primary keys."""
    known = dict(sheet.known())
    key = tuple(values.pop("named", ()))
    row = {column.field: column.default for column in sheet.columns} | values
    return sheet.save([row | {"pk": known.get(key)}], by=None)


@pytest.fixture
def part():
    return make_part(number="QX-4410")


@pytest.fixture
def supplier():
    return make_supplier(code="BLY")


@pytest.fixture
def site():
    return make_site(code="QUAY")


@pytest.fixture
def order_line(supplier, site, part):
    loaded(
        sheets.ORDERS,
        key="BLY-260302-1",
        supplier=supplier.pk,
        site=site.pk,
        status="part_delivered",
        made_at=AT,
        sent_at=AT,
    )
    order = dict(sheets.ORDERS.known())["BLY-260302-1",]
    loaded(
        sheets.ORDER_LINES,
        order=order,
        line=1,
        part=part.pk,
        packs=6,
        pack=1,
        pack_price_cents=2_137,
    )
    return OrderLine.objects.get()


class TestSheets:
    def test_suppliers_come_back_as_they_were_written(self):
        row = {
            "code": "NES",
            "name": "Ness Parts",
            "order_days": "25",
            "stated_lead_days": 4,
            "order_cost_cents": 350,
            "freight_cents": 1_200,
            "freight_free_from_cents": 25_000,
        }
        assert loaded(sheets.SUPPLIERS, **row).added == 1
        assert loaded(sheets.SUPPLIERS, named=("NES",), **row).same == 1
        [written] = sheets.SUPPLIERS.rows()
        assert row.items() <= written.items()

    def test_an_offer_is_named_by_supplier_part_and_day(self, supplier, part):
        row = {"supplier": supplier.pk, "part": part.pk, "valid_from": date(2026, 1, 1)}
        named = ("BLY", "QX-4410", date(2026, 1, 1))
        assert loaded(sheets.OFFERS, **row, pack_price_cents=2_137).added == 1
        assert loaded(sheets.OFFERS, named=named, **row, pack_price_cents=2_137).same == 1
        assert loaded(sheets.OFFERS, named=named, **row, pack_price_cents=2_200).changed == 1

    def test_a_price_break_is_named_by_its_offer_and_quantity(self, supplier, part):
        offer = make_offer(supplier, part, valid_from=date(2026, 1, 1))
        row = {"offer": offer.pk, "from_packs": 10, "pack_price_cents": 1_988}
        named = ("BLY", "QX-4410", date(2026, 1, 1), 10)
        assert loaded(sheets.PRICE_BREAKS, **row).added == 1
        assert loaded(sheets.PRICE_BREAKS, named=named, **row).same == 1
        assert offer.price_of(10) == 1_988

    def test_what_came_is_counted_from_the_delivery_lines(self, supplier, site, part, order_line):
        posting = receive_stock(
            part, site=site, pieces=4, value_cents=8_548, by=None, key="D-1-1", at=AT
        )
        loaded(sheets.DELIVERIES, key="D-1", supplier=supplier.pk, site=site.pk, at=AT)
        row = {
            "delivery": dict(sheets.DELIVERIES.known())["D-1",],
            "line": 1,
            "order": order_line.order_id,
            "order_line": order_line.pk,
            "part": part.pk,
            "pieces": 4,
            "value_cents": 8_548,
            "posting": posting.pk,
        }
        assert loaded(sheets.DELIVERY_LINES, **row).added == 1
        assert loaded(sheets.DELIVERY_LINES, named=("D-1", 1), **row).same == 1
        order_line.refresh_from_db()
        assert (order_line.pieces_delivered, order_line.pieces_open) == (4, 2)
        assert DeliveryLine.objects.get().posting == posting
        [written] = sheets.DELIVERY_LINES.rows()
        assert (written["order"], written["order_line"], written["posting"]) == (
            "BLY-260302-1",
            1,
            "D-1-1",
        )

    def test_claims_come_back_as_they_were_written(self, supplier, part):
        row = {
            "key": "c-1",
            "supplier": supplier.pk,
            "part": part.pk,
            "failed_on": date(2026, 3, 17),
            "status": "credited",
            "credit_cents": 2_137,
            "settled_on": date(2026, 4, 1),
        }
        assert loaded(sheets.CLAIMS, **row).added == 1
        assert loaded(sheets.CLAIMS, named=("c-1",), **row).same == 1
        assert Claim.objects.get().credit_cents == 2_137

    def test_goals_of_parts_come_back_and_stand_in_the_log(self, site, part):
        row = {
            "part": part.pk,
            "site": site.pk,
            "kind": "at_least",
            "amount": 4,
            "words": "the fleet does not wait",
            "set_at": AT,
        }
        assert loaded(sheets.PART_GOALS, **row).added == 1
        named = ("QX-4410", "QUAY")
        assert loaded(sheets.PART_GOALS, named=named, **row).same == 1
        assert loaded(sheets.PART_GOALS, named=named, **row | {"amount": 6}).changed == 1
        goal = PartGoal.objects.get()
        assert str(goal) == "at least 6 kept"
        changed, added = Change.objects.of(goal)
        assert changed.words == f"goal of QX-4410 at {site}"
        assert (changed.before, changed.after) == ({"amount": 4}, {"amount": 6})
        assert added.before == {}
        [written] = sheets.PART_GOALS.rows()
        assert (written["part"], written["site"], written["by"]) == ("QX-4410", "QUAY", None)

    def test_every_sheet_needs_only_sheets_that_somebody_declares(self):
        named = set().union(*(sheet.needs() for sheet in sheets.SHEETS))
        assert named - {sheet.title for sheet in sheets.SHEETS} == {
            "Parts",
            "Sites",
            "Postings",
            "People",
        }
