from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.actions import log_ask, settle_ask
from inventory.ledger.models import Ask, AskOutcome, How
from tests.make import make_part, make_site

pytestmark = pytest.mark.django_db


def ask_for(pieces=4, **facts):
    facts = {"site": make_site(), "by": None, "key": "a1"} | facts
    return log_ask(make_part(), pieces=pieces, **facts)


class TestLogAsk:
    def test_belongs_to_the_sites_own_day(self):
        site = make_site(zone="Pacific/Auckland")
        ask = ask_for(site=site, at=datetime(2026, 3, 2, 20, tzinfo=UTC), job_key="J-1")
        assert (ask.day, ask.job_key) == (date(2026, 3, 3), "J-1")

    def test_one_key_asks_once(self):
        assert ask_for() == ask_for(pieces=1)
        assert Ask.objects.get().pieces == 4

    def test_refuses_to_ask_for_nothing(self):
        with pytest.raises(ValidationError) as refused:
            ask_for(0)
        assert refused.value.messages == ["0 pieces cannot be asked for; write 1 or more."]


class TestSettleAsk:
    def test_says_what_became_of_the_pieces(self):
        ask = ask_for()
        settle_ask(ask, how=How.WAITED, pieces=1)
        assert list(Ask.objects.open()) == [ask]
        settle_ask(ask, how=How.LOST, pieces=3)
        assert list(AskOutcome.objects.values_list("key", "pieces")) == [("a1/1", 1), ("a1/2", 3)]
        assert not Ask.objects.open().exists()

    def test_never_more_than_was_asked_for(self):
        ask = ask_for()
        settle_ask(ask, how=How.LOST, pieces=3)
        with pytest.raises(ValidationError) as refused:
            settle_ask(ask, how=How.DECLINED, pieces=2)
        assert refused.value.messages == [
            "Only 1 of the 4 asked for are open, not 2; settle fewer, or log another ask."
        ]

    def test_one_key_settles_once(self):
        ask = ask_for()
        first = settle_ask(ask, how=How.LOST, pieces=1, key="told")
        assert settle_ask(ask, how=How.LOST, pieces=1, key="told") == first
        assert AskOutcome.objects.count() == 1

    def test_refuses_to_settle_nothing(self):
        with pytest.raises(ValidationError) as refused:
            settle_ask(ask_for(), how=How.LOST, pieces=0)
        assert refused.value.messages == ["0 pieces cannot be settled; write 1 or more."]
