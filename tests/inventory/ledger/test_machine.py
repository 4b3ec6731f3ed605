"""All stock actions in random order, against a model small enough to be seen to be right."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from hypothesis import HealthCheck, assume, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from inventory.catalog.models import Counted, MadeOf, PartKind
from inventory.ledger import actions
from inventory.ledger.actions import MovementRow, record_postings
from inventory.ledger.audit import audit
from inventory.ledger.models import Condition, Hold, Lot, Movement, Posting, PostingKind, Shelf
from inventory.ledger.trails import net_of
from inventory.shop.models import SiteKind
from tests.inventory.ledger.plain_stock import USABLE, Model, ModelLot
from tests.make import make_part, make_site
from tests.soak import soak

DAY = date(2026, 3, 2)
PIECES = st.integers(1, 6)
CENTS = st.integers(0, 2_000)


def left_of(lots, prefix):
    return {
        lot.key.removeprefix(prefix): (
            lot.shelf.site_id, lot.condition, lot.pieces_received, lot.cents_received,
            lot.pieces_left, lot.cents_left, lot.from_lot and lot.from_lot.key.removeprefix(prefix),
        )
        for lot in lots.select_related("shelf", "from_lot")
    }  # fmt: skip


def copied(other):
    """Every movement as a row that tells all, of another part and under another key."""
    related = "posting__undoes", "lot", "of__posting"
    for index, one in enumerate(Movement.objects.order_by("pk").select_related(*related)):
        posting, lot = one.posting, one.lot
        yield MovementRow(
            index=index,
            key=f"copy {posting.key}",
            kind=posting.kind,
            happened_at=posting.happened_at,
            recorded_at=posting.recorded_at,
            part_id=other[one.part_id],
            site_id=one.site_id,
            pieces=one.pieces,
            cents=one.cents,
            lot=f"copy {lot.key}",
            of=f"copy {one.of.posting.key}/{one.of.number}" if one.of else "",
            made_on=lot.made_on,
            received_on=lot.received_on,
            condition=lot.condition,
            prepared_for=lot.prepared_for,
            undoes=f"copy {posting.undoes.key}" if posting.undoes else "",
        )


class Stock(RuleBasedStateMachine):
    """Every rule does the action and the same to the model, or sees the action refused."""

    @initialize()
    def open_shop(self):
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.model = Model()
        self.number = 0
        self.revalued = False
        self.sites = [make_site(), make_site()]
        self.road = make_site(kind=SiteKind.TRANSIT)
        self.body, self.stem = make_part(PartKind.BODY), make_part(PartKind.STEM)
        self.whole = make_part(PartKind.ASSEMBLY)
        cap = make_part(PartKind.CAP, counted=Counted.NOT)
        for piece, quantity in ((self.body, 1), (self.stem, 2), (cap, 1)):
            MadeOf.objects.create(whole=self.whole, piece=piece, quantity=quantity)
        self.parts = [self.body, self.stem, self.whole]

    def teardown(self):
        if not hasattr(self, "atomic"):
            return
        try:
            if hasattr(self, "parts"):
                self.copy_agrees()
        finally:
            # A history that fails must not be there when the next one begins.
            transaction.set_rollback(True)
            self.atomic.__exit__(None, None, None)

    def copy_agrees(self):
        """The whole history, loaded as a workbook brings it for other parts, ends the same."""
        other = {part.pk: make_part(part.kind).pk for part in self.parts}
        record_postings(copied(other))
        for part in self.parts:
            first = left_of(Lot.objects.filter(shelf__part=part), "")
            assert left_of(Lot.objects.filter(shelf__part=other[part.pk]), "copy ") == first
        assert audit() == []

    def key(self):
        self.number += 1
        return f"p{self.number}"

    def adopt(self, posting, **known):
        """Lots the posting opened, as they are; what the model can say itself is asserted."""
        for movement in posting.movements.filter(pieces__gt=0).select_related("lot__shelf"):
            lot = movement.lot
            if lot.key in self.model.lots:
                continue
            age = (lot.made_on or lot.received_on, lot.received_on, lot.pk)
            self.model.lots[lot.key] = ModelLot(
                lot.shelf.part_id, lot.shelf.site_id, movement.pieces, movement.cents,
                lot.condition, age,
            )  # fmt: skip

    def act(self, allowed, action, *args, **kwargs):
        """Run an action under a new key, then again: the second run must change nothing."""
        kwargs |= {"key": self.key(), "by": None}
        if not allowed:
            with pytest.raises(ValidationError):
                action(*args, **kwargs)
            return None
        first = action(*args, **kwargs)
        assert action(*args, **kwargs) == first
        return first

    @rule(part=st.integers(0, 2), site=st.integers(0, 1), pieces=PIECES, cents=CENTS,
          made=st.none() | st.integers(0, 400))  # fmt: skip
    def receive(self, part, site, pieces, cents, made):
        posting = self.act(
            True, actions.receive_stock, self.parts[part], site=self.sites[site], pieces=pieces,
            value_cents=cents, made_on=None if made is None else DAY - timedelta(days=made),
        )  # fmt: skip
        assert [(m.pieces, m.cents) for m in posting.movements.all()] == [(pieces, cents)]
        self.adopt(posting)

    @rule(part=st.integers(0, 2), site=st.integers(0, 1), pieces=PIECES)
    def issue(self, part, site, pieces):
        part, site = self.parts[part], self.sites[site]
        allowed = self.model.free(part.pk, site.pk) >= pieces
        posting = self.act(allowed, actions.issue_stock, part, site=site, pieces=pieces)
        if posting:
            taken = self.model.take(part.pk, site.pk, pieces)
            assert actions.cost_of_postings([posting.pk])[posting.pk] == sum(c for *_, c in taken)

    @rule(pick=st.randoms(use_true_random=False), pieces=PIECES,
          condition=st.sampled_from([Condition.SEALED, Condition.OPENED]))  # fmt: skip
    def bring_back(self, pick, pieces, condition):
        issued = list(Movement.objects.filter(posting__kind=PostingKind.ISSUED).order_by("pk"))
        assume(issued)
        movement = pick.choice(issued)
        out, worth = actions.still_out(movement)
        sealed = movement.lot.condition == condition == Condition.SEALED
        allowed = out >= pieces and (sealed or condition == Condition.OPENED)
        posting = self.act(
            allowed, actions.return_stock, movement, pieces=pieces, condition=condition
        )
        if posting:
            cents = int(worth * pieces / out + 0.5)
            if sealed:
                lot = self.model.lots[movement.lot.key]
                lot.left, lot.cents = lot.left + pieces, lot.cents + cents
            self.adopt(posting)

    @rule(part=st.integers(0, 2), site=st.integers(0, 1), counted=st.integers(0, 12))
    def count(self, part, site, counted):
        part, site = self.parts[part], self.sites[site]
        more = counted - self.model.usable(part.pk, site.pk)
        allowed = self.model.free(part.pk, site.pk) + more >= 0
        posting = self.act(
            allowed, actions.count_stock, part, site=site, counted=counted, unit_cents=100
        )
        if posting and more < 0:
            self.model.take(part.pk, site.pk, -more)
        elif posting:
            self.adopt(posting)

    @rule(part=st.integers(0, 2), site=st.integers(0, 1), pieces=PIECES)
    def scrap(self, part, site, pieces):
        part, site = self.parts[part], self.sites[site]
        allowed = self.model.free(part.pk, site.pk) >= pieces
        if self.act(allowed, actions.scrap_stock, part, site=site, pieces=pieces, words="bent"):
            self.model.take(part.pk, site.pk, pieces)

    @rule(pick=st.randoms(use_true_random=False), pieces=PIECES, elsewhere=st.booleans(),
          condition=st.sampled_from(["sealed", "opened", "checked", "decide"]))  # fmt: skip
    def move(self, pick, pieces, condition, elsewhere):
        lots = list(Lot.objects.filter(shelf__site__in=self.sites).order_by("pk"))
        assume(lots)
        lot = pick.choice(lots)
        here = self.model.lots[lot.key]
        site = next(each for each in self.sites if (each.pk != here.site) == elsewhere)
        changes = elsewhere or condition != here.condition
        leaves = here.condition in USABLE and (elsewhere or condition not in USABLE)
        free = self.model.free(here.part, here.site) if leaves else pieces
        allowed = changes and min(here.left, free) >= pieces
        posting = self.act(
            allowed, actions.move_stock, lot, pieces=pieces, condition=Condition(condition),
            to_site=site,
        )  # fmt: skip
        if posting:
            cents = self.model.take_from(here, pieces)
            assert sorted(m.cents for m in posting.movements.all()) == sorted([-cents, cents])
            self.adopt(posting)

    @rule(part=st.integers(0, 2), site=st.integers(0, 1), pieces=PIECES)
    def transfer(self, part, site, pieces):
        part, here, there = self.parts[part], self.sites[site], self.sites[1 - site]
        allowed = self.model.free(part.pk, here.pk) >= pieces
        sent = self.act(
            allowed, actions.send_transfer, part, from_site=here, to_site=there, pieces=pieces
        )
        if sent:
            self.model.take(part.pk, here.pk, pieces)
            self.adopt(sent.sent)
            assert self.model.on_hand(part.pk, self.road.pk) == pieces
            back = self.act(True, actions.receive_transfer, sent)
            self.model.take(part.pk, self.road.pk, pieces)
            self.adopt(back.received)

    @rule(site=st.integers(0, 1), pieces=st.integers(1, 3))
    def take_apart(self, site, pieces):
        site = self.sites[site]
        allowed = self.model.free(self.whole.pk, site.pk) >= pieces
        posting = self.act(allowed, actions.take_apart, self.whole, site=site, pieces=pieces)
        if posting:
            self.model.take(self.whole.pk, site.pk, pieces)
            self.adopt(posting)

    @rule(site=st.integers(0, 1), pieces=st.integers(1, 2))
    def put_together(self, site, pieces):
        site = self.sites[site]
        allowed = (
            self.model.free(self.body.pk, site.pk) >= pieces
            and self.model.free(self.stem.pk, site.pk) >= 2 * pieces
        )
        posting = self.act(allowed, actions.put_together, self.whole, site=site, pieces=pieces)
        if posting:
            self.model.take(self.body.pk, site.pk, pieces)
            self.model.take(self.stem.pk, site.pk, 2 * pieces)
            self.adopt(posting)

    @rule(part=st.integers(0, 2), site=st.integers(0, 1), pieces=PIECES)
    def hold(self, part, site, pieces):
        part, site = self.parts[part], self.sites[site]
        allowed = self.model.free(part.pk, site.pk) >= pieces
        if self.act(allowed, actions.hold_parts, part, site=site, pieces=pieces, job_key="J-1"):
            shelf = part.pk, site.pk
            self.model.held[shelf] = self.model.held.get(shelf, 0) + pieces

    @rule(pick=st.randoms(use_true_random=False), pieces=PIECES, used=st.booleans())
    def end_hold(self, pick, pieces, used):
        holds = list(Hold.objects.standing().order_by("pk"))
        assume(holds)
        hold = pick.choice(holds)
        part, site = hold.shelf.part, hold.shelf.site
        shelf, promised = (part.pk, site.pk), hold.pieces
        if not used:
            actions.release_hold(hold, words="not collected")
            self.model.held[shelf] -= promised
            return
        own = min(promised, pieces)
        allowed = self.model.free(*shelf) + own >= pieces
        if self.act(allowed, actions.issue_stock, part, site=site, pieces=pieces, hold=hold):
            self.model.take(*shelf, pieces)
            self.model.held[shelf] -= own

    @rule(pick=st.randoms(use_true_random=False), last=st.booleans())
    def undo(self, pick, last):
        moving = Posting.objects.filter(movements__isnull=False).distinct()
        postings = list(moving.standing().order_by("pk"))
        assume(postings)
        posting = postings[-1] if last else pick.choice(postings)
        try:
            undo = self.act(True, actions.undo_posting, posting)
        except ValidationError:
            # What came last of all can always be undone, unless its pieces are promised since.
            newest = Posting.objects.order_by("pk").last() == posting
            assert not newest or Hold.objects.standing().exists()
            return
        for movement in undo.movements.select_related("lot", "of"):
            assert movement.pieces == -movement.of.pieces
            assert self.revalued or movement.cents == -movement.of.cents
            lot = self.model.lots[movement.lot.key]
            lot.left, lot.cents = lot.left + movement.pieces, lot.cents + movement.cents
        if posting.hold:
            shelf = posting.hold.shelf.part_id, posting.hold.shelf.site_id
            self.model.held[shelf] += posting.hold_pieces

    @rule(pick=st.randoms(use_true_random=False), cents=CENTS)
    def revalue(self, pick, cents):
        received = list(Movement.objects.filter(posting__kind=PostingKind.RECEIVED).order_by("pk"))
        assume(received)
        movement = pick.choice(received)
        pieces, before = net_of(movement)
        paid, shelf = before, sum(lot.cents for lot in self.model.lots.values())
        posting = self.act(
            pieces and before != cents, actions.revalue_stock, movement, value_cents=cents
        )
        if not posting:
            return
        self.revalued = True
        assert net_of(movement) == (pieces, cents)
        # Whatever the price, a cent is either on a shelf or in what has left it.
        moved = sum(m.cents for m in posting.movements.all())
        gone = -sum(m.cents for m in posting.movements.all() if m.of.pieces < 0)
        came = sum(m.cents for m in posting.movements.all() if m.of.pieces > 0)
        assert moved == came - gone
        for lot in Lot.objects.all():
            self.model.lots[lot.key].cents = lot.cents_left
        assert sum(lot.cents for lot in self.model.lots.values()) == shelf + moved
        assert cents - paid == net_of(movement)[1] - before

    @invariant()
    def lots_agree(self):
        if hasattr(self, "model"):
            kept = {lot.key: (lot.pieces_left, lot.cents_left) for lot in Lot.objects.all()}
            assert kept == {key: (lot.left, lot.cents) for key, lot in self.model.lots.items()}

    @invariant()
    def shelves_agree(self):
        for shelf in Shelf.objects.all() if hasattr(self, "model") else ():
            key = shelf.part_id, shelf.site_id
            assert shelf.on_hand == self.model.on_hand(*key)
            assert shelf.usable == self.model.usable(*key)
            assert shelf.held == self.model.held.get(key, 0)

    @invariant()
    def audit_is_clean(self):
        if hasattr(self, "model"):
            assert audit() == []


@pytest.mark.soak
@pytest.mark.django_db
def test_all_actions_agree_with_the_model_after_every_step():
    run_state_machine_as_test(
        Stock,
        settings=settings(
            max_examples=soak(12, 200),
            stateful_step_count=soak(25, 50),
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
