import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from inventory.ledger.actions import receive_stock
from inventory.ledger.models import Condition, Posting, Shelf
from inventory.ledger.sentences import refusal_of
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


def broken_by(write):
    with pytest.raises(IntegrityError) as broken, transaction.atomic():
        write()
    return refusal_of(broken.value).messages


class TestRefusalOf:
    def test_an_action_refuses_in_the_constraints_own_sentence(self):
        with pytest.raises(ValidationError) as refused:
            receive_stock(
                make_part(), site=make_site(), pieces=1, value_cents=5, by=None, key="r",
                condition=Condition.PREPARED,
            )  # fmt: skip
        assert refused.value.messages == ["A prepared sensor is kept for one job; write which."]

    def test_a_check_of_the_shelf(self):
        part = make_part()
        make_stock(part, make_site(), pieces=2)
        assert broken_by(lambda: Shelf.objects.update(held=3)) == [
            "The shelf holds fewer pieces than that."
        ]

    def test_an_undo_that_another_writer_was_first_with(self):
        posting = make_stock(make_part(), make_site())

        def undo(key):
            Posting.objects.create(
                key=key, kind="undone", undoes=posting, happened_at=posting.happened_at
            )

        undo("first")
        assert broken_by(lambda: undo("second")) == [
            "This was undone already; nothing more to undo."
        ]

    def test_a_key_that_is_taken(self):
        posting = make_stock(make_part(), make_site())
        again = Posting(key=posting.key, kind="received", happened_at=posting.happened_at)
        assert broken_by(again.save) == [
            "Another posting has this key already; look at that one first."
        ]

    def test_what_has_no_sentence_is_raised_as_it_is(self):
        with pytest.raises(IntegrityError, match="something else"):
            refusal_of(IntegrityError("something else"))
