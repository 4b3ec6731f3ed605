"""New prices of a supplier: the offer that held ends the day before the new one begins."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.actions.kept import changed
from inventory.catalog.models import Part
from inventory.reorder.models import Offer, OfferBreak, Supplier
from inventory.shop.models import Change

AGREED = (
    "pack",
    "minimum_packs",
    "supplier_code",
    "valid_to",
    "returnable_days",
    "return_fee_per_mille",
    "warranty_months",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPrice:
    """One line of a price list; `breaks` are (from packs, cents a pack). None keeps what held."""

    part: Part
    pack_price_cents: int
    pack: int | None = None
    minimum_packs: int | None = None
    supplier_code: str | None = None
    breaks: tuple[tuple[int, int], ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceChange:
    """What a line of a price list would do, for the person who decides."""

    new: NewPrice
    before: Offer | None
    before_cents: int | None

    @property
    def rise_share(self) -> float | None:
        """By how much a piece costs more, as a share of what it cost; also for another pack."""
        if self.before is None or not self.before_cents:
            return None
        pack = self.new.pack or self.before.pack
        return self.new.pack_price_cents * self.before.pack / (pack * self.before_cents) - 1

    @property
    def breaks_end(self) -> bool:
        """Whether breaks that held end with their price: the list gives no new ones."""
        before = self.before
        same = self.before_cents == self.new.pack_price_cents
        return before is not None and self.new.breaks is None and not same and bool(_breaks(before))

    @property
    def fall_share(self) -> float | None:
        share = self.rise_share
        return None if share is None else -share


def price_changes(
    supplier: Supplier, prices: Iterable[NewPrice], *, valid_from: date
) -> list[PriceChange]:
    """Every line that would change something, with the offer it would replace."""
    listed = list(prices)
    held: dict[int, Offer] = {}
    # One that has ended is still what was agreed last.
    offers = supplier.offers.filter(valid_from__lte=valid_from)
    for offer in offers.order_by("valid_from").with_breaks():
        held[offer.part_id] = offer
    found = [_change(line, held.get(line.part.pk)) for line in listed]
    return [change for change in found if _differs(change)]


def _change(line: NewPrice, before: Offer | None) -> PriceChange:
    return PriceChange(
        new=line, before=before, before_cents=before.pack_price_cents if before else None
    )


def _differs(change: PriceChange) -> bool:
    old, new = change.before, change.new
    if old is None:
        return True
    asked = (new.pack, new.minimum_packs, new.supplier_code, new.breaks)
    kept = (old.pack, old.minimum_packs, old.supplier_code, _breaks(old))
    moved = any(a is not None and a != k for a, k in zip(asked, kept, strict=True))
    return moved or new.pack_price_cents != old.pack_price_cents


def _breaks(offer: Offer) -> tuple[tuple[int, int], ...]:
    return tuple((step.from_packs, step.pack_price_cents) for step in offer.breaks.all())


@transaction.atomic
def accept_prices(
    supplier: Supplier, prices: Iterable[NewPrice], *, valid_from: date, by: Any
) -> list[Offer]:
    """Make the offers of a price list hold from a day on; the same list again changes nothing."""
    # Without its key: who writes down a delivery of the supplier meanwhile need not wait.
    Supplier.objects.select_for_update(no_key=True).get(pk=supplier.pk)
    changes = price_changes(supplier, prices, valid_from=valid_from)
    _refuse_twice(changes)
    offers = [_offer(supplier, change, valid_from) for change in changes]
    Change.objects.bulk_create(_logged(changes, offers, by))
    return offers


@transaction.atomic
def offer_part(
    supplier: Supplier, price: NewPrice, *, valid_from: date, terms: Mapping[str, Any], by: Any
) -> Offer:
    """One price by hand, as a price list of one line; `terms` are what no list says."""
    accept_prices(supplier, [price], valid_from=valid_from, by=by)
    offer = supplier.offers.filter(part=price.part).valid_on(valid_from).latest("valid_from")
    return changed(offer, f"{supplier} offers {price.part}", to=terms, by=by)


def _refuse_twice(changes: list[PriceChange]) -> None:
    seen: set[int] = set()
    for change in changes:
        if change.new.part.pk in seen:
            raise ValidationError(
                f"The list gives {change.new.part} twice; keep the line that holds."
            )
        seen.add(change.new.part.pk)


def _offer(supplier: Supplier, change: PriceChange, valid_from: date) -> Offer:
    new = change.new
    offer = _successor(supplier, change, valid_from)
    offer.pack_price_cents = new.pack_price_cents
    for name in ("pack", "minimum_packs", "supplier_code"):
        if getattr(new, name) is not None:
            setattr(offer, name, getattr(new, name))
    offer.full_clean()
    offer.save()
    _save_breaks(offer, change)
    return offer


def _successor(supplier: Supplier, change: PriceChange, valid_from: date) -> Offer:
    """The offer to write: what a price list does not say stays as it was agreed."""
    old = change.before
    if old is not None and old.valid_from == valid_from:
        return old
    offer = Offer(supplier=supplier, part=change.new.part, valid_from=valid_from)
    if old is not None:
        for name in AGREED:
            setattr(offer, name, getattr(old, name))
        if old.valid_to is None or old.valid_to >= valid_from:
            Offer.objects.filter(pk=old.pk).update(valid_to=valid_from - timedelta(days=1))
        else:
            offer.valid_to = None
    return offer


def _save_breaks(offer: Offer, change: PriceChange) -> None:
    breaks = change.new.breaks
    if breaks is None:
        # Breaks of another price are no breaks of this one, unless the price stood still.
        same = change.before_cents == offer.pack_price_cents
        breaks = _breaks(change.before) if change.before and same else ()
    offer.breaks.all().delete()
    for packs, cents in breaks:
        step = OfferBreak(offer=offer, from_packs=packs, pack_price_cents=cents)
        step.full_clean()
        step.save()


def _logged(changes: list[PriceChange], offers: list[Offer], by: Any) -> Iterator[Change]:
    for change, offer in zip(changes, offers, strict=True):
        known = change.before_cents is not None
        yield Change(
            by=by,
            kind=Offer._meta.label,
            record=str(offer.pk),
            words=f"{offer.supplier} asks a new price for {offer.part}"[:200],
            before={"pack_price_cents": change.before_cents} if known else {},
            after={"pack_price_cents": offer.pack_price_cents},
        )
