from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.models import SellingPrice
from inventory.ledger.actions import hold_parts
from inventory.ledger.models import Ask, Hold, Movement, Posting, Shelf
from inventory.reorder.actions.orders import add_to_draft
from inventory.shop.models import Change, ShopSettings
from jobs.workshop.actions.jobs import close_job
from jobs.workshop.actions.lines import add_labour, issue_part_for_job, return_part_from_job
from tests.make import (
    make_account,
    make_job,
    make_part,
    make_stock,
    make_supplier,
    make_user,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db
AT = datetime(2026, 2, 3, 15, 0, tzinfo=UTC)


@pytest.fixture
def job():
    return make_job(key="J-7")


@pytest.fixture
def part(job):
    part = make_part("body", number="QB-1", list_price_cents=4990)
    make_stock(part, job.site, pieces=6, value_cents=6 * 1713)
    return part


def _issue(job, part, **fields):
    given: dict[str, Any] = {"by": make_user(), "key": "k1", "at": AT}
    return issue_part_for_job(job, part=part, **given | fields)


def _on_hand(job, part):
    return Shelf.objects.get(part=part, site=job.site).on_hand


class TestIssuePartForJob:
    def test_leaves_the_shelf_with_the_job_as_its_occasion(self, job, part):
        line = _issue(job, part, quantity=2)
        posting = line.posting
        assert (posting.occasion, posting.occasion_on) == ("J-7", date(2026, 2, 3))
        assert _on_hand(job, part) == 4
        assert (line.quantity, line.price_cents) == (2, 9980)

    def test_a_wish_is_answered_and_asks_for_nothing_more(self, job, part):
        add_to_draft(
            make_supplier(), site=job.site, part=part, pieces=2, job_key="J-7", wish=True, by=None
        )
        _issue(job, part, quantity=2)
        ask = Ask.objects.get()
        assert (ask.wish, ask.outcomes.get().pieces) == (True, 2)

    def test_what_leaves_was_asked_for_by_this_job(self, job, part):
        _issue(job, part, quantity=2)
        ask = Ask.objects.get()
        assert (ask.part, ask.pieces, ask.job_key) == (part, 2, "J-7")

    def test_the_same_key_issues_once(self, job, part):
        by = make_user()
        first = _issue(job, part, by=by)
        assert _issue(job, part, by=by) == first
        assert _on_hand(job, part) == 5

    def test_the_price_is_that_of_the_day_less_the_accounts_discount(self, part):
        account = make_account(discount_per_mille=100)
        job = make_job(make_vehicle(account=account), account=account, key="J-8")
        make_stock(part, job.site, pieces=2, value_cents=3426)
        SellingPrice.objects.create(part=part, valid_from=date(2026, 1, 1), price_cents=6000)
        assert _issue(job, part, quantity=2).price_cents == 10_800

    def test_another_price_stands_and_is_logged_beside_that_of_the_day(self, job, part):
        line = _issue(job, part, price_cents=3000)
        change = Change.objects.of(line).get()
        assert change.words == "price of QB-1 on job J-7"
        assert (change.before, change.after) == ({"price_cents": 4990}, {"price_cents": 3000})

    def test_a_substitute_serves_the_ask_for_the_part_that_was_wanted(self, job, part):
        wanted = make_part("body")
        _issue(job, part, wanted=wanted)
        ask = Ask.objects.get()
        assert ask.part == wanted
        assert ask.outcomes.get().how == "substitute"

    def test_uses_up_what_was_promised_to_this_job(self, job, part):
        hold_parts(part, site=job.site, pieces=2, job_key="J-7", by=make_user(), key="h1")
        _issue(job, part, quantity=2)
        assert Hold.objects.get().pieces == 0
        assert Shelf.objects.get(part=part).held == 0

    def test_what_is_not_counted_is_sold_without_a_posting(self, job):
        cap = make_part("cap", counted="not", list_price_cents=50)
        line = _issue(job, cap, quantity=4)
        assert (line.posting, line.price_cents) == (None, 200)
        assert not Posting.objects.filter(kind="issued").exists()

    def test_refuses_more_than_is_on_the_shelf_and_writes_nothing(self, job, part):
        with pytest.raises(ValidationError) as refusal:
            _issue(job, part, quantity=7)
        assert refusal.value.messages == [
            f"Only 6 of QB-1 on the shelf at {job.site}, not 7; "
            "issue 6 or fewer, or receive stock first."
        ]
        assert not job.lines.exists()

    def test_refuses_a_part_without_any_price(self, job):
        part = make_part(number="QB-2")
        make_stock(part, job.site, pieces=1, value_cents=900)
        with pytest.raises(ValidationError) as refusal:
            _issue(job, part)
        assert refusal.value.messages == [
            "QB-2 has no selling price; write the price of this line."
        ]

    def test_refuses_a_wheel_of_another_vehicle(self, job, part):
        other = make_wheels(make_vehicle(key="V-y"))[0]
        with pytest.raises(ValidationError) as refusal:
            _issue(job, part, wheel=other)
        assert refusal.value.messages == [
            f"Wheel V-y-1 belongs to another vehicle; job J-7 is about {job.vehicle}."
        ]


class TestReturnPartFromJob:
    def test_comes_back_at_the_cents_it_went_for_and_leaves_the_rest_sold(self, job, part):
        line = _issue(job, part, quantity=4)
        line = return_part_from_job(line, pieces=1, by=make_user(), key="r1")
        assert (line.quantity, line.price_cents) == (3, 3 * 4990)
        assert _on_hand(job, part) == 3
        back = Movement.objects.get(posting__kind="returned", of__posting=line.posting)
        assert (back.pieces, back.cents) == (1, 1713)

    def test_the_same_key_returns_once(self, job, part):
        line = _issue(job, part, quantity=4)
        for _ in range(2):
            line = return_part_from_job(line, pieces=1, by=make_user(), key="r1")
        assert (line.quantity, _on_hand(job, part)) == (3, 3)

    def test_pieces_of_two_lots_come_back_to_both(self, job):
        part = make_part("body", list_price_cents=4990)
        make_stock(part, job.site, pieces=1, value_cents=1700)
        make_stock(part, job.site, pieces=1, value_cents=1900)
        line = _issue(job, part, quantity=2)
        return_part_from_job(line, pieces=2, by=make_user(), key="r1")
        back = Movement.objects.filter(posting__kind="returned")
        assert sorted(back.values_list("cents", flat=True)) == [1700, 1900]

    def test_refuses_more_than_the_line_sells(self, job, part):
        line = _issue(job, part, quantity=2)
        with pytest.raises(ValidationError) as refusal:
            return_part_from_job(line, pieces=3, by=make_user(), key="r1")
        assert refusal.value.messages == [
            "This line sells 2; return between 1 and that many pieces."
        ]

    def test_refuses_on_a_closed_job(self, job, part):
        line = _issue(job, part)
        close_job(job, reason="for the test")
        with pytest.raises(ValidationError) as refusal:
            return_part_from_job(line, pieces=1, by=make_user(), key="r1")
        assert refusal.value.messages == ["Job J-7 is closed; open a new one for more work."]


class TestAddLabour:
    @pytest.fixture(autouse=True)
    def _rates(self):
        shop = ShopSettings.load()
        shop.labour_price_cents, shop.labour_cost_cents = 12_000, 4_137
        shop.save()

    def test_is_priced_and_costed_by_the_minute(self, job):
        line = add_labour(job, minutes=20, words="take one wheel apart")
        assert (line.quantity, line.price_cents, line.labour_cost_cents) == (20, 4000, 1379)

    def test_an_accounts_discount_comes_off_the_price_alone(self):
        account = make_account(discount_per_mille=100)
        job = make_job(make_vehicle(account=account), account=account)
        line = add_labour(job, minutes=60, words="re-learn")
        assert (line.price_cents, line.labour_cost_cents) == (10_800, 4_137)

    def test_the_same_key_adds_once(self, job):
        for _ in range(2):
            add_labour(job, minutes=20, words="re-learn", key="l1")
        assert job.lines.count() == 1

    def test_refuses_no_minutes(self, job):
        with pytest.raises(ValidationError) as refusal:
            add_labour(job, minutes=0, words="re-learn")
        assert refusal.value.messages == ["Write the minutes of work, 1 or more."]
