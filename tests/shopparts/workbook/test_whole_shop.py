"""A shop with a history, saved and loaded into an empty database, is the same shop."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from inventory.catalog.models import Counted, MadeOf, PartKind
from inventory.ledger.actions import (
    Occasion,
    count_stock,
    hold_parts,
    issue_stock,
    keep_borrowed,
    log_ask,
    mark_arrived,
    move_stock,
    put_together,
    receive_stock,
    receive_transfer,
    release_hold,
    return_stock,
    return_to_supplier,
    revalue_stock,
    scrap_stock,
    send_back,
    send_transfer,
    settle_ask,
    take_apart,
    take_off_car,
    undo_posting,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import (
    Ask,
    AskOutcome,
    Borrowed,
    Condition,
    Hold,
    How,
    Lot,
    Movement,
    Posting,
    PostingKind,
    Shelf,
    Transfer,
)
from inventory.shop.models import ShopSettings, Site
from inventory.shop.roles import Role
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from shopparts.workbook.writer import write_workbook
from tests.make import make_bin, make_part, make_site, make_user

pytestmark = pytest.mark.django_db

RECORDS = (Shelf, Lot, Posting, Movement, Ask, AskOutcome, Hold, Transfer)
OPENED = datetime(2026, 3, 2, 8, tzinfo=UTC)


class History:
    """Everyday postings of one shop, an hour after each other, each under a key of its own."""

    def __init__(self):
        ShopSettings.load().save()
        self.by = make_user(Role.OWNER, username="ines")
        self.quay, self.yard = (
            make_site(code="QUAY", zone="America/Chicago"),
            make_site(code="YARD"),
        )
        self.shelf = make_bin(self.quay, code="A-1")
        self.body = make_part(PartKind.BODY, number="B-1")
        self.stem = make_part(PartKind.STEM, number="S-1")
        self.cap = make_part(PartKind.CAP, number="C-1", counted=Counted.NOT)
        self.whole = make_part(PartKind.ASSEMBLY, number="W-1")
        for piece, quantity in ((self.body, 1), (self.stem, 2), (self.cap, 1)):
            MadeOf.objects.create(whole=self.whole, piece=piece, quantity=quantity)
        self.number = 0

    def post(self, action, *args, **facts):
        self.number += 1
        at = OPENED + timedelta(hours=self.number)
        return action(*args, **{"key": f"p{self.number}", "by": self.by, "at": at} | facts)

    def hold(self, part, pieces, **facts):
        self.number += 1
        facts |= {"by": self.by, "key": f"h{self.number}", "job_key": f"J-{self.number}"}
        return hold_parts(part, site=self.quay, pieces=pieces, **facts)

    def receive(self, part, site, pieces, cents, **facts):
        return self.post(receive_stock, part, site=site, pieces=pieces, value_cents=cents, **facts)

    def live(self):
        self.buy()
        self.sell()
        self.promise()
        self.travel()
        self.make()
        self.put_right()

    def buy(self):
        self.bought = self.receive(
            self.body, self.quay, 7, 1_000, bin=self.shelf, made_on=date(2025, 11, 3),
            maker_code="0451", came_from="Supplier 1", occasion=Occasion(words="O-1"),
        )  # fmt: skip
        self.receive(self.body, self.quay, 5, 901, kind=PostingKind.OPENING)
        self.receive(self.stem, self.quay, 12, 1_111, occasion=Occasion(on=date(2026, 3, 1)))
        self.receive(self.whole, self.quay, 3, 7_000)
        undo_posting(
            self.receive(self.whole, self.yard, 9, 1), by=self.by, key="u-receipt", at=OPENED
        )

    def sell(self):
        job = Occasion(words="J-1", on=date(2026, 3, 2))
        self.issued = self.post(issue_stock, self.body, site=self.quay, pieces=8, occasion=job)
        ask = self.post(log_ask, self.whole, site=self.quay, pieces=3, job_key="J-2", wish=True)
        self.post(issue_stock, self.body, site=self.quay, pieces=1, ask=ask)
        settle_ask(ask, how=How.LOST, pieces=1, at=OPENED)
        of = self.issued.movements.order_by("number").first()
        self.post(return_stock, of, pieces=1)
        self.post(
            return_stock, of, pieces=1, condition=Condition.PREPARED, prepared_for="J-7",
            bin=self.shelf,
        )  # fmt: skip
        kept = Lot.objects.get(condition=Condition.PREPARED)
        self.post(issue_stock, self.body, site=self.quay, pieces=1, lot=kept)
        undo_posting(
            self.post(issue_stock, self.stem, site=self.quay, pieces=2), by=self.by, key="u-issue"
        )
        # Recorded last, happened first.
        self.post(issue_stock, self.stem, site=self.quay, pieces=1, at=OPENED)

    def promise(self):
        used = self.hold(self.body, 2, deposit_cents=2_000)
        self.post(issue_stock, self.body, site=self.quay, pieces=2, hold=used)
        partly = self.hold(self.stem, 4, expires_at=timezone.now() + timedelta(days=9))
        mark_arrived(partly)
        self.post(issue_stock, self.stem, site=self.quay, pieces=1, hold=partly)
        restored = self.hold(self.stem, 1)
        undo_posting(
            self.post(issue_stock, self.stem, site=self.quay, pieces=1, hold=restored),
            by=self.by,
            key="u-held",
        )
        let_go = self.hold(self.stem, 1)
        undo_posting(
            self.post(issue_stock, self.stem, site=self.quay, pieces=1, hold=let_go),
            by=self.by,
            key="u-let-go",
        )
        release_hold(let_go, words="Not collected")

    def travel(self):
        there = {"from_site": self.quay, "to_site": self.yard}
        lent = self.post(send_transfer, self.stem, pieces=2, borrowed=Borrowed.SEND_BACK, **there)
        lent = self.post(receive_transfer, lent)
        back = self.post(send_back, lent)
        self.post(receive_transfer, back)
        kept = self.post(send_transfer, self.whole, pieces=1, borrowed=Borrowed.SEND_BACK, **there)
        keep_borrowed(self.post(receive_transfer, kept))
        self.receive(self.body, self.quay, 2, 333)
        # From two lots, and still on the road.
        self.receive(self.body, self.quay, 2, 335)
        self.post(send_transfer, self.body, pieces=3, **there)
        undo_posting(
            self.post(send_transfer, self.stem, pieces=1, **there).sent, by=self.by, key="u-sent"
        )

    def make(self):
        self.post(take_apart, self.whole, site=self.quay, bin=self.shelf)
        self.post(take_apart, self.whole, site=self.quay, used=[self.body])
        self.post(put_together, self.whole, site=self.quay)

    def put_right(self):
        received = self.bought.movements.get()
        self.post(revalue_stock, received, value_cents=1_100, words="invoice")
        fresh = self.receive(self.stem, self.yard, 4, 400).movements.get()
        wrong = self.post(revalue_stock, fresh, value_cents=500, words="misread")
        undo_posting(wrong, by=self.by, key="u-price")
        lot = Lot.objects.filter(shelf__part=self.stem, pieces_left__gt=1).first()
        self.post(move_stock, lot, pieces=1, condition=Condition.OPENED, words="torn bag")
        self.post(take_off_car, self.body, site=self.quay, occasion=Occasion(words="J-3"))
        claimed = Lot.objects.get(condition=Condition.CLAIM)
        self.post(return_to_supplier, claimed, pieces=1, words="weak battery")
        held = {"site": self.yard}
        self.post(count_stock, self.whole, counted=1, **held)
        self.post(count_stock, self.whole, counted=3, **held)
        self.post(count_stock, self.whole, counted=2, **held)
        self.post(scrap_stock, self.whole, pieces=1, words="dropped", **held)


def natural(record):
    """What names a record in any database."""
    if isinstance(record, Movement):
        return f"{record.posting.key}/{record.number}"
    if isinstance(record, Shelf):
        return f"{record.part.number} at {record.site.code}"
    for name in ("key", "number", "username"):
        if hasattr(record, name):
            return getattr(record, name)
    return record.code if isinstance(record, Site) else f"{record.site.code} {record.code}"


def told(record):
    fields = [field for field in record._meta.concrete_fields if not field.primary_key]
    values = {field.name: getattr(record, field.name) for field in fields}
    return {name: natural(v) if hasattr(v, "_meta") else v for name, v in values.items()}


def everything():
    """Every row of every sheet, and every record of stock without its primary key."""
    rows = {title: list(sheet.rows()) for title, sheet in sheets().items()}
    stock = {
        model.__name__: {natural(record): told(record) for record in model._default_manager.all()}
        for model in RECORDS
    }
    return rows, stock


@pytest.fixture
def saved(tmp_path):
    """A workbook of a shop that is gone, and what was in it."""
    path = tmp_path / "all.xlsx"
    with transaction.atomic():
        History().live()
        assert audit() == []
        write_workbook(path, sheets(), minor_digits=2)
        before = everything()
        transaction.set_rollback(True)
    assert not Posting.objects.exists()
    return path, before


class TestWholeShop:
    def test_an_empty_database_becomes_the_same_shop(self, saved):
        path, (rows, stock) = saved
        report = load(path, sheets())
        assert [str(fault) for fault in report.faults] == []
        again, there = everything()
        for title, sheet in rows.items():
            assert again[title] == sheet, title
        for name, records in stock.items():
            assert there[name] == records, name
        assert audit() == []

    def test_every_kind_of_posting_is_in_it(self, saved):
        _, (rows, _) = saved
        assert {row["kind"] for row in rows["Postings"]} == set(PostingKind)

    def test_loading_it_again_changes_nothing(self, saved):
        path, _ = saved
        load(path, sheets())
        before = everything()
        report = load(path, sheets())
        assert [str(fault) for fault in report.faults] == []
        assert {(one.added, one.changed) for one in report.saved.values()} == {(0, 0)}
        assert everything() == before

    def test_the_loaded_shop_goes_on_as_the_first_would(self, saved):
        path, _ = saved
        load(path, sheets())
        by = None
        hold = Hold.objects.get(pieces_promised=2)
        undo_posting(Posting.objects.get(hold=hold), by=by, key="later")
        hold.refresh_from_db()
        assert hold.pieces == 2
        receive_transfer(Transfer.objects.on_the_road().get(), by=by, key="arrived")
        revalue_stock(Movement.objects.get(posting__key="p1"), value_cents=1_500, by=by, key="dear")
        assert audit() == []
