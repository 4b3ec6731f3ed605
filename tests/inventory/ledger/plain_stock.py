"""Shelves and lots as plainly as they can be kept: what the random actions are held against."""

from dataclasses import dataclass, field
from datetime import date

USABLE = {"sealed", "checked"}


@dataclass
class ModelLot:
    part: int
    site: int
    left: int
    cents: int
    condition: str
    age: tuple[date, date, int]


@dataclass
class Model:
    lots: dict[str, ModelLot] = field(default_factory=dict)
    held: dict[tuple[int, int], int] = field(default_factory=dict)

    def on(self, part, site):
        lots = [lot for lot in self.lots.values() if (lot.part, lot.site) == (part, site)]
        return sorted(lots, key=lambda lot: lot.age)

    def on_hand(self, part, site):
        return sum(lot.left for lot in self.on(part, site))

    def usable(self, part, site):
        return sum(lot.left for lot in self.on(part, site) if lot.condition in USABLE)

    def free(self, part, site):
        return self.usable(part, site) - self.held.get((part, site), 0)

    def take(self, part, site, pieces):
        """Oldest first; a lot's cents to the nearest, its last piece takes the rest."""
        taken = []
        for lot in self.on(part, site):
            count = min(lot.left, pieces) if lot.condition in USABLE else 0
            if count:
                taken.append((lot, count, self.take_from(lot, count)))
                pieces -= count
        assert pieces == 0
        return taken

    def take_from(self, lot, count):
        cents = int(lot.cents * count / lot.left + 0.5)
        lot.left -= count
        lot.cents -= cents
        return cents
