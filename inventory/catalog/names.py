"""Finding vehicles and parts by what was typed: exact and prefix first, then near spellings.

The near spellings are looked for in memory, among the distinct names of the whole catalogue.
Reading those from 200,000 applications costs more than everything else a search does, so each
process reads them at most once a minute; an exact or prefix search sees a new name at once.
"""

import re
import threading
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from django.db.models import Max, Min, Q, QuerySet
from rapidfuzz import fuzz, process

from inventory.catalog import prefix  # noqa: F401  registers the lookup
from inventory.catalog.codes import gtin14, normalised
from inventory.catalog.models import Application, Part, PartCode

KEPT_SECONDS = 60
NEAR = 65
LIKE_A_WORD = 75
MOST_TYPED = 80
CENTURY_TURNS = 50
YEARS = range(1980, 2100)
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """What was typed, taken apart: a year if there is one, and the words."""

    words: tuple[str, ...]
    year: int | None

    @property
    def key(self) -> str:
        return normalised("".join(self.words))


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleHit:
    make: str
    model: str
    first_year: int
    last_year: int
    other_words: str


def typed(text: str) -> Typed:
    """Four digits are a year; so are two at an end of several words, as in "14 merow van".

    >>> typed("14 merow van")
    Typed(words=('merow', 'van'), year=2014)
    """
    words = _WORD.findall(text.lower()[:MOST_TYPED])
    for place, word in enumerate(words):
        outer = place in (0, len(words) - 1) and len(words) > 1
        if (year := _year(word, two_digits=outer)) is not None:
            return Typed(words=tuple(words[:place] + words[place + 1 :]), year=year)
    return Typed(words=tuple(words), year=None)


def _year(word: str, *, two_digits: bool) -> int | None:
    if not (word.isascii() and word.isdigit()):
        return None
    if len(word) == 4 and int(word) in YEARS:
        return int(word)
    if len(word) == 2 and two_digits:
        return int(word) + (2000 if int(word) < CENTURY_TURNS else 1900)
    return None


Name = tuple[str, str]
Years = tuple[int, int]


class _Names:
    """The distinct makes and models with their years, read again once they are a minute old."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.forget()

    def forget(self) -> None:
        self._read_at = float("-inf")

    def years(self) -> dict[Name, Years]:
        self._read()
        return self._years

    def texts(self) -> dict[Name, str]:
        self._read()
        return self._texts

    def _read(self) -> None:
        with self._lock:
            if time.monotonic() - self._read_at > KEPT_SECONDS:
                self._years = _years_of(Application.objects.all())
                self._texts = {name: " ".join(name).lower() for name in self._years}
                self._read_at = time.monotonic()


def _years_of(applications: QuerySet[Application]) -> dict[Name, Years]:
    rows = applications.order_by("make", "model").values_list("make", "model")
    spans = rows.annotate(first=Min("year_from"), last=Max("year_to"))
    return {(make, model): (first, last) for make, model, first, last in spans}


names = _Names()


def makes() -> list[str]:
    return list(dict.fromkeys(make for make, _ in names.years()))


def models_of(make: str) -> list[str]:
    return [model for its_make, model in names.years() if its_make == make]


def vehicles_named(text: str, *, limit: int = 20) -> list[VehicleHit]:
    """Makes and models with applications, those that begin as typed before those alike.

    Where a year was typed, those remain whose applications reach over it.
    """
    asked = typed(text)
    if not asked.key:
        return []
    found = _beginning(asked.key, limit)
    if len(found) < limit:
        found += [name for name in _alike(asked.words, limit) if name not in found]
    return _hits(found[:limit], asked)


def _beginning(key: str, limit: int) -> list[Name]:
    rows = Application.objects.filter(search_key__prefix=key).order_by("make", "model")
    return list(rows.values_list("make", "model").distinct()[:limit])


def _alike(words: Sequence[str], limit: int) -> list[Name]:
    near = process.extract(
        " ".join(words), names.texts(), scorer=fuzz.WRatio, limit=limit, score_cutoff=NEAR
    )
    return [name for _, _, name in near]


def _hits(found: Sequence[Name], asked: Typed) -> list[VehicleHit]:
    years = names.years()
    if new := [name for name in found if name not in years]:
        either = reduce(or_, (Q(make=make, model=model) for make, model in new))
        years = years | _years_of(Application.objects.filter(either))
    return [
        VehicleHit(
            make=make,
            model=model,
            first_year=first,
            last_year=last,
            other_words=" ".join(_not_in_name(asked.words, f"{make} {model}")),
        )
        for make, model in found
        for first, last in [years[make, model]]
        if asked.year is None or first <= asked.year <= last
    ]


def _not_in_name(words: Iterable[str], name: str) -> Iterable[str]:
    """The typed words that are no part of make and model, such as a trim."""
    own = _WORD.findall(name.lower())
    for word in words:
        like = max(fuzz.ratio(word, part) for part in own)
        if like < LIKE_A_WORD and not any(part.startswith(word) for part in own):
            yield word


def parts_coded(text: str, *, limit: int = 20) -> list[Part]:
    """Parts with exactly this number or code, as a scanner reads it."""
    key = normalised(text)
    return _parts(Q(number_key=key), Q(code_key__in=_spellings(key)), limit) if key else []


def parts_known_as(text: str, *, limit: int = 20) -> list[Part]:
    """Parts whose number or any code begins as typed, exact ones first; else by their words."""
    key = normalised(text)
    if not key:
        return []
    exact = parts_coded(text, limit=limit)
    if len(exact) >= limit:
        return exact
    begins = _parts(Q(number_key__prefix=key), Q(code_key__prefix=key), limit)
    found = {part.pk: part for part in [*exact, *begins]}
    if not found:
        found = {part.pk: part for part in _parts_described(text, limit)}
    return list(found.values())[:limit]


def _spellings(key: str) -> list[str]:
    """A GTIN is one number in four lengths; any other code is only itself."""
    if (full := gtin14(key)) is None:
        return [key]
    bare = full.lstrip("0")
    return [key, *(bare.zfill(length) for length in (8, 12, 13, 14) if length >= len(bare))]


def _parts(number: Q, code: Q, limit: int) -> list[Part]:
    by_number = list(Part.objects.filter(number)[:limit])
    codes = PartCode.objects.filter(code).select_related("part")[:limit]
    return list({part.pk: part for part in [*by_number, *(c.part for c in codes)]}.values())


def _parts_described(text: str, limit: int) -> list[Part]:
    parts = Part.objects.all()
    for word in _WORD.findall(text[:MOST_TYPED]):
        parts = parts.filter(
            Q(words__icontains=word) | Q(maker__icontains=word) | Q(kind__icontains=word)
        )
    return list(parts[:limit])
