"""What was scanned or typed at a site: a bin's label, a part by any of its codes, or unknown."""

from dataclasses import dataclass, field

from inventory.catalog.codes import normalised
from inventory.catalog.models import Part
from inventory.catalog.names import parts_coded, parts_known_as
from inventory.shop.models import Bin, Site

MARK = "BIN"
"""Begins what is printed on a bin's label, so that no part's code is taken for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scanned:
    """`parts` have exactly this code; `like` are named when none has, for a person to choose."""

    text: str
    bin: Bin | None = None
    parts: list[Part] = field(default_factory=list)
    like: list[Part] = field(default_factory=list)

    @property
    def part(self) -> Part | None:
        return self.parts[0] if len(self.parts) == 1 else None

    @property
    def choices(self) -> list[Part]:
        return self.parts or self.like


def scanned(text: str, site: Site) -> Scanned:
    """A bin's label first, then a part, then a bin's bare code; each read whole, never guessed."""
    text = text.strip()
    bins = list(Bin.objects.filter(site=site)) if text else []
    if bin := _bin(bins, text, MARK):
        return Scanned(text=text, bin=bin)
    if parts := parts_coded(text):
        return Scanned(text=text, parts=parts)
    if bin := _bin(bins, text):
        return Scanned(text=text, bin=bin)
    return Scanned(text=text, like=parts_known_as(text))


def _bin(bins: list[Bin], text: str, mark: str = "") -> Bin | None:
    key = normalised(text)
    same = [bin for bin in bins if normalised(mark + bin.code) == key]
    exact = [bin for bin in same if bin.code.lower() == text.lower()]
    return (exact or same)[0] if exact or len(same) == 1 else None


def label_of(bin: Bin) -> str:
    """What the bar code on a bin's label says."""
    return f"{MARK}-{bin.code}"
