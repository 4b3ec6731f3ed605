"""What a supplier's page tells beside its offers: how long orders took, and what can go back."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.ledger.models import Condition, Lot, LotQuerySet, Movement
from inventory.reorder.inputs.waits import read_waits
from inventory.reorder.models import DeliveryLine, Offer, Supplier
from inventory.shop.models import Site
from inventory.templatetags.charts import Bar, BarChart

LONGEST_SHOWN = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class GoesBack:
    """A lot the supplier brought; `until` is None for a wrong part, which waits for nothing."""

    lot: Lot
    until: date | None
    fee_per_mille: int

    @property
    def fee_percent(self) -> str:
        return f"{self.fee_per_mille / 10:g}"

    @property
    def credit_cents(self) -> int:
        """What the supplier pays for all that is left, less its fee."""
        return self.lot.cents_left * (1000 - self.fee_per_mille) // 1000


def waits_seen(supplier: Supplier) -> list[int]:
    """Days from sending an order to each of its deliveries, by the calendar of each site."""
    return sorted(days for _, days, _ in read_waits(supplier.pk).tolist())


def waits_chart(waits: list[int]) -> BarChart:
    """How many deliveries took how many days; the longest ones share the last bar."""
    seen = Counter(min(days, LONGEST_SHOWN) for days in waits)
    bars = [
        Bar(label=f"{days}+" if days == LONGEST_SHOWN else str(days), value=seen[days])
        for days in range(min(seen), max(seen) + 1)
    ]
    middle = waits[len(waits) // 2]
    return BarChart(
        title="Days from sending an order to its deliveries",
        description=f"{len(waits)} deliveries; half of them took {middle} days or fewer.",
        x_label="days",
        y_label="deliveries",
        bars=bars,
    )


def lots_brought(supplier: Supplier) -> LotQuerySet:
    """Lots that came in with its deliveries; not those split off since."""
    brought = DeliveryLine.objects.filter(delivery__supplier=supplier, posting__isnull=False)
    came = Movement.objects.filter(posting__in=brought.values("posting"))
    return Lot.objects.filter(pk__in=came.values("lot"))


def what_goes_back(supplier: Supplier, site: Site) -> list[GoesBack]:
    """Wrong parts that lie apart, then sealed lots that the supplier still takes, first day first.

    The terms are those of the offer that held when the lot came.
    """
    lots = lots_brought(supplier).left().filter(shelf__site=site)
    lots = lots.filter(condition__in=(Condition.SEALED, Condition.DECIDE))
    found = list(lots.select_related("shelf__part", "bin"))
    offers = list(
        Offer.objects.filter(supplier=supplier, part__in={lot.shelf.part_id for lot in found})
    )
    today = site.today()
    going = [_goes_back(lot, offers) for lot in found]
    open_ones = [one for one in going if one and (one.until is None or one.until >= today)]
    return sorted(open_ones, key=lambda one: (one.until or date.min, one.lot.pk))


def _goes_back(lot: Lot, offers: Iterable[Offer]) -> GoesBack | None:
    if lot.condition == Condition.DECIDE:
        return GoesBack(lot=lot, until=None, fee_per_mille=0)
    held = [
        offer
        for offer in offers
        if offer.part_id == lot.shelf.part_id and offer.valid_from <= lot.received_on
    ]
    terms = max(held, key=lambda offer: offer.valid_from, default=None)
    if terms is None or not terms.returnable_days:
        return None
    return GoesBack(
        lot=lot,
        until=lot.received_on + timedelta(days=terms.returnable_days),
        fee_per_mille=terms.return_fee_per_mille,
    )
