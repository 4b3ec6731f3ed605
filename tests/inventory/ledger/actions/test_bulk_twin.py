"""Rows against the everyday actions: one random history, posted both ways, is the same."""

import itertools
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.catalog.models import MadeOf, PartKind
from inventory.ledger import actions
from inventory.ledger.actions import MovementRow, record_postings
from inventory.ledger.audit import audit
from inventory.ledger.costs import last_cost
from inventory.ledger.models import AskOutcome, Condition, Lot, Movement, Posting, Shelf
from inventory.shop.models import SiteKind
from tests.make import make_bin, make_part, make_site
from tests.soak import soak

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
MADE = st.none() | st.dates(date(2025, 1, 1), date(2025, 1, 4))
BACK = st.sampled_from([Condition.SEALED, Condition.OPENED, Condition.CHECKED])
# Mostly one shelf, so that its lots run empty and fill again.
PART, SITE = st.sampled_from([0, 0, 0, 1, 2]), st.sampled_from([0, 0, 0, 1])
PIECES = st.integers(1, 3)
STEPS = st.one_of(
    st.tuples(st.just("receive"), PART, SITE, PIECES, st.integers(0, 1000), MADE),
    st.tuples(st.just("issue"), PART, SITE, PIECES),
    st.tuples(st.just("scrap"), PART, SITE, PIECES),
    st.tuples(st.just("count"), PART, SITE, st.integers(0, 9)),
    st.tuples(st.just("move"), st.integers(0, 9), PIECES, SITE, st.none() | BACK),
    st.tuples(st.just("send"), PART, SITE, PIECES),
    st.tuples(st.just("bring_back"), st.integers(0, 9), PIECES, BACK),
    st.tuples(st.just("take_apart"), SITE, st.integers(1, 2)),
    st.tuples(st.just("put_together"), SITE, st.integers(1, 2)),
    st.tuples(st.just("take_off"), PART, SITE),
    st.tuples(st.just("undo"), st.integers(0, 9)),
)


class Twin:
    """Each step is posted at once for one set of parts, and told as rows of the other."""

    def __init__(self):
        self.sites = [make_site(zone="America/Chicago"), make_site()]
        self.bin = make_bin(self.sites[0])
        self.road = make_site(kind=SiteKind.TRANSIT)
        self.parts, self.others = self.kit_of_parts(), self.kit_of_parts()
        self.other = {one.pk: two for one, two in zip(self.parts, self.others, strict=True)}
        self.rows = []
        self.indices = itertools.count()

    def kit_of_parts(self):
        whole = make_part(PartKind.ASSEMBLY)
        body, stem = make_part(PartKind.BODY, list_price_cents=700), make_part(PartKind.STEM)
        for piece, quantity in ((body, 1), (stem, 2)):
            MadeOf.objects.create(whole=whole, piece=piece, quantity=quantity)
        return [whole, body, stem]

    def step(self, number, name, *inputs):
        self.key = f"e{number}"
        self.at = NOON + timedelta(hours=number)
        try:
            rows = getattr(self, name)(*inputs)
        except ValidationError:
            return
        self.rows += rows

    def post(self, action, *args, **facts):
        return action(*args, key=self.key, by=None, at=self.at, **facts)

    def row(self, kind, part, site, pieces, **facts):
        key = self.key.replace("e", "b")
        return MovementRow(
            index=next(self.indices), key=key, kind=kind, happened_at=self.at,
            part_id=self.other[part.pk].pk, site_id=site.pk, pieces=pieces, **facts,
        )  # fmt: skip

    def receive(self, part, site, pieces, cents, made):
        part, site = self.parts[part], self.sites[site]
        place = self.bin if site == self.sites[0] else None
        self.post(
            actions.receive_stock, part, site=site, pieces=pieces, value_cents=cents,
            made_on=made, bin=place, maker_code="04", came_from="S",
        )  # fmt: skip
        return [
            self.row(
                "received", part, site, pieces, cents=cents, made_on=made, maker_code="04",
                came_from="S", bin_id=place and place.pk,
            )
        ]  # fmt: skip

    def issue(self, part, site, pieces):
        part, site = self.parts[part], self.sites[site]
        self.post(actions.issue_stock, part, site=site, pieces=pieces)
        return [self.row("issued", part, site, -pieces)]

    def scrap(self, part, site, pieces):
        part, site = self.parts[part], self.sites[site]
        self.post(actions.scrap_stock, part, site=site, pieces=pieces, words="bent")
        return [self.row("scrapped", part, site, -pieces, words="bent")]

    def count(self, part, site, counted):
        part, site = self.parts[part], self.sites[site]
        shelf = Shelf.objects.filter(part=part, site=site).first()
        more = counted - (shelf.usable if shelf else 0)
        cost = last_cost(part, site)
        self.post(actions.count_stock, part, site=site, counted=counted, unit_cents=100)
        if not more:
            return []
        cents = more * 100 if more > 0 and cost is None else None
        return [self.row("counted", part, site, more, cents=cents)]

    def lot(self, number):
        lots = Lot.objects.filter(shelf__part__in=self.parts, shelf__site__in=self.sites)
        found = list(lots.order_by("pk"))
        if not found:
            raise ValidationError("No lot yet.")
        return found[number % len(found)]

    def move(self, lot, pieces, site, condition):
        lot, site = self.lot(lot), self.sites[site]
        part, here = lot.shelf.part, lot.shelf.site
        self.post(
            actions.move_stock, lot, pieces=pieces, to_site=site, condition=condition,
        )  # fmt: skip
        return [
            self.row("moved", part, here, -pieces, lot=lot.key.replace("e", "b")),
            self.row("moved", part, site, pieces, condition=condition or ""),
        ]

    def send(self, part, site, pieces):
        part, site, to = self.parts[part], self.sites[site], self.sites[1 - site]
        self.post(actions.send_transfer, part, from_site=site, to_site=to, pieces=pieces)
        words = f"{site.code} to {to.code}"
        return [
            self.row("moved", part, site, -pieces, occasion=words),
            self.row("moved", part, self.road, pieces, occasion=words),
        ]

    def bring_back(self, number, pieces, condition):
        issued = list(Movement.objects.filter(posting__kind="issued").order_by("pk"))
        if not issued:
            raise ValidationError("Nothing is out.")
        of = issued[number % len(issued)]
        self.post(actions.return_stock, of, pieces=pieces, condition=condition)
        name = f"{of.posting.key}/{of.number}".replace("e", "b")
        return [self.row("returned", of.part, of.site, pieces, condition=condition, of=name)]

    def made(self, kind, site, sign, count):
        whole, *pieces = self.parts
        lines = [(piece, count * (number + 1)) for number, piece in enumerate(pieces)]
        rows = [self.row(kind, piece, site, -sign * each) for piece, each in lines]
        outer = self.row(kind, whole, site, sign * count)
        return [outer, *rows] if sign < 0 else [*rows, outer]

    def take_apart(self, site, count):
        site = self.sites[site]
        self.post(actions.take_apart, self.parts[0], site=site, pieces=count)
        return self.made("taken_apart", site, -1, count)

    def put_together(self, site, count):
        site = self.sites[site]
        self.post(actions.put_together, self.parts[0], site=site, pieces=count)
        return self.made("put_together", site, 1, count)

    def take_off(self, part, site):
        part, site = self.parts[part], self.sites[site]
        job = actions.Occasion(words="J-3")
        self.post(actions.take_off_car, part, site=site, occasion=job)
        return [self.row("taken_off", part, site, 1, occasion="J-3")]

    def undo(self, number):
        moving = Posting.objects.filter(movements__isnull=False).distinct()
        postings = list(moving.standing().order_by("pk"))
        if not postings:
            raise ValidationError("Nothing to undo.")
        first = postings[-1 - number % len(postings)]
        self.post(actions.undo_posting, first)
        key = first.key.replace("e", "b")
        return [
            self.row(
                "undone", each.part, each.site, -each.pieces, of=f"{key}/{each.number}",
                undoes=key, occasion=first.occasion,
            )
            for each in first.movements.order_by("-number")
        ]  # fmt: skip

    def stock(self, parts):
        """Lots, movements, shelves and what was said of asks, without the names of the parts."""
        place = {part.pk: number for number, part in enumerate(parts)}
        names = {part.number: f"part {number}" for number, part in enumerate(parts)}
        lots = Lot.objects.filter(shelf__part__in=parts).select_related("shelf", "from_lot")
        moved = Movement.objects.filter(part__in=parts).select_related("posting", "of__posting")
        told = AskOutcome.objects.filter(ask__part__in=parts).select_related("ask", "posting")
        return {
            "lots": {
                renamed(lot.key): (
                    place[lot.shelf.part_id], lot.shelf.site_id, lot.bin_id, lot.received_on,
                    lot.made_on, lot.maker_code, lot.condition, lot.from_lot and
                    renamed(lot.from_lot.key), lot.pieces_received, lot.cents_received,
                    lot.pieces_left, lot.cents_left,
                    " ".join(names.get(word, word) for word in lot.came_from.split()),
                )
                for lot in lots
            },
            "moved": [
                (
                    named(one), one.posting.kind, place[one.part_id], one.site_id, one.pieces,
                    one.cents, one.of and named(one.of), one.posting.happened_at,
                )
                for one in moved.order_by("pk")
            ],
            "shelves": {
                (place[shelf.part_id], shelf.site_id): (shelf.on_hand, shelf.usable)
                for shelf in Shelf.objects.filter(part__in=parts).exclude(on_hand=0)
            },
            "told": sorted(
                (renamed(one.key), renamed(one.ask.key), one.how, one.pieces) for one in told
            ),
        }  # fmt: skip


def renamed(key):
    return key.replace("e", "b", 1)


def named(movement):
    return renamed(f"{movement.posting.key}/{movement.number}")


@pytest.mark.soak
class TestRecordPostings(TestCase):
    @settings(max_examples=soak(60, 600), deadline=None, derandomize=True)
    @given(steps=st.lists(STEPS, min_size=5, max_size=30))
    def test_gives_what_the_everyday_actions_give(self, steps):
        twin = Twin()
        for number, step in enumerate(steps):
            twin.step(number, *step)
        record_postings(twin.rows)
        assert twin.stock(twin.others) == twin.stock(twin.parts)
        assert audit() == []
