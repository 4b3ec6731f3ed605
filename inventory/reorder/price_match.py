"""What the columns of a supplier's price list mean, and the prices that its rows give."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from inventory.catalog.codes import normalised
from inventory.catalog.models import Part, PartCode
from inventory.reorder.actions.prices import NewPrice
from inventory.reorder.models import Offer, PriceList, Supplier
from inventory.shop.models import ShopSettings

# Roles of a column, with words that its heading often holds (common practice, no source).
ROLES: Mapping[str, tuple[str, ...]] = {
    "part": ("number", "code", "article", "item", "part", "sku"),
    "price": ("price", "net", "cost"),
    "pack": ("pack", "unit", "per"),
    "minimum": ("minimum", "min", "moq"),
}
REQUIRED = ("part", "price")
PER_PACK, PER_PIECE = "pack", "piece"
POINT, COMMA = ".", ","
CENTS = re.compile(r"\d([.,])\d{1,2}$")
LARGEST_CENTS = 2_000_000_000
FAULTS_SHOWN = 20
AT_A_TIME = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesRead:
    """The prices of parts we know, and what was left out: unknown codes, rows with faults."""

    prices: list[NewPrice]
    unknown: list[str]
    faults: list[str]
    rounded: int


def guess_columns(heads: Sequence[str], remembered: Mapping[str, str]) -> dict[str, str]:
    """The heading of each role: as it was last time, else the first that sounds like it."""
    found = {role: head for role, head in remembered.items() if role in ROLES and head in heads}
    for role, words in ROLES.items():
        free = [head for head in heads if head not in found.values()]
        if role not in found and (head := _sounding_like(words, free)):
            found[role] = head
    told = {name: value for name, value in remembered.items() if name not in ROLES}
    return told | found


def _sounding_like(words: Iterable[str], heads: Sequence[str]) -> str | None:
    for word in words:
        for head in heads:
            if word in re.findall(r"[a-z]+", head.lower()):
                return head
    return None


def guess_mark(rows: Iterable[Sequence[str]]) -> str:
    """A comma where more figures end in a comma and cents than in a point and cents."""
    ends = Counter(found[1] for row in rows for cell in row if (found := CENTS.search(cell)))
    return COMMA if ends[COMMA] > ends[POINT] else POINT


def read_prices(listed: PriceList, shop: ShopSettings) -> PricesRead:
    """Every row that names a part we know, as a price; faults are told by row, not raised."""
    columns = listed.columns
    place = {role: listed.heads.index(columns[role]) for role in ROLES if columns.get(role)}
    reader = _RowReader(
        place=place,
        per=columns.get("per", PER_PACK),
        mark=columns.get("mark", POINT),
        digits=shop.minor_digits,
        packs=dict(listed.supplier.offers.order_by("valid_from").values_list("part_id", "pack")),
    )
    codes = [row[place["part"]] for row in listed.rows]
    known = known_codes(listed.supplier, codes)
    prices: list[NewPrice] = []
    unknown, faults = [], []
    for code, row in zip(codes, listed.rows, strict=True):
        parts = known.get(normalised(code), ()) if code else ()
        if code and not parts:
            unknown.append(code)
        elif code:
            try:
                prices.append(reader.price(code, parts, row))
            except ValueError as fault:
                faults.append(f"“{code}”: {fault}")
    twice = {part for part, count in Counter(price.part for price in prices).items() if count > 1}
    faults += [f"{part} stands there more than once; keep the row that holds." for part in twice]
    return PricesRead(
        prices=[price for price in prices if price.part not in twice],
        unknown=unknown,
        faults=faults,
        rounded=reader.rounded,
    )


def known_codes(supplier: Supplier, codes: Iterable[str]) -> dict[str, tuple[Part, ...]]:
    """Parts by code as looked up: this supplier's own numbers first, else any code of a part."""
    keys = sorted({key for code in codes if (key := normalised(code))})
    found: dict[str, dict[int, Part]] = {}
    for start in range(0, len(keys), AT_A_TIME):
        some = keys[start : start + AT_A_TIME]
        for part in Part.objects.filter(number_key__in=some):
            found.setdefault(part.number_key, {})[part.pk] = part
        for code in PartCode.objects.filter(code_key__in=some).select_related("part"):
            found.setdefault(code.code_key, {})[code.part_id] = code.part
    own: dict[str, dict[int, Part]] = {}
    offers = Offer.objects.filter(supplier=supplier).exclude(supplier_code="")
    for offer in offers.select_related("part"):
        own.setdefault(normalised(offer.supplier_code), {})[offer.part_id] = offer.part
    merged = found | {key: parts for key, parts in own.items() if key in set(keys)}
    return {key: tuple(parts.values()) for key, parts in merged.items()}


@dataclass(slots=True, kw_only=True)
class _RowReader:
    place: Mapping[str, int]
    per: str
    mark: str
    digits: int
    packs: Mapping[int, int]
    rounded: int = 0

    def price(self, code: str, parts: Sequence[Part], row: Sequence[str]) -> NewPrice:
        if len(parts) > 1:
            names = ", ".join(part.number for part in parts)
            raise ValueError(f"“{code}” is a code of {names}; give the number of one of them.")
        pack = self._count(row, "pack")
        # A list without packs leaves the pack as it was agreed.
        agreed = pack or self.packs.get(parts[0].pk, 1)
        return NewPrice(
            part=parts[0],
            pack_price_cents=self._cents(row, agreed if self.per == PER_PIECE else 1),
            pack=pack,
            minimum_packs=self._count(row, "minimum"),
            supplier_code=code if normalised(code) != parts[0].number_key else None,
        )

    def _count(self, row: Sequence[str], role: str) -> int | None:
        """A whole number from 1 up; None where the column is not chosen or the cell is blank."""
        text = row[self.place[role]] if role in self.place else ""
        if not text:
            return None
        number = self._number(text)
        if number != number.to_integral_value() or not 1 <= number <= 100_000:
            raise ValueError(f"“{text}” is no number of pieces; write 1 or more.")
        return int(number)

    def _cents(self, row: Sequence[str], pieces: int) -> int:
        text = row[self.place["price"]]
        if not text:
            raise ValueError("there is no price; write one, or leave the row out.")
        exact = (self._number(text) * pieces).scaleb(self.digits)
        cents = exact.to_integral_value(ROUND_HALF_UP)
        self.rounded += cents != exact
        if not 0 <= cents <= LARGEST_CENTS:
            raise ValueError(f"“{text}” is no price; write an amount of 0 or more.")
        return int(cents)

    def _number(self, text: str) -> Decimal:
        """The figure in a cell, without currency signs and without marks between thousands."""
        other = COMMA if self.mark == POINT else POINT
        bare = re.sub(r"[^\d.,+-]", "", text).replace(other, "").replace(self.mark, POINT)
        try:
            return Decimal(bare)
        except InvalidOperation:
            raise ValueError(f"“{text}” is no number; correct it, or leave the row out.") from None
