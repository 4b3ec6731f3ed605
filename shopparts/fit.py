"""From make, model, year and answers to the parts that fit: the state of the fit page.

The whole state stands in the address, so that "back", a bookmark and a colleague's phone show
the same. Which parts may be fitted is the catalogue's business; this module only leads there.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.http import QueryDict

from inventory.catalog.fit import Findings
from inventory.catalog.inputs import BUILT, Possible, entries, possible_fits, traits_to_ask
from inventory.catalog.models import Application, Band, Mounting, System
from inventory.catalog.names import typed
from inventory.catalog.question import Question, best_question, remaining
from inventory.catalog.required import days_built
from inventory.catalog.spans import span_text
from inventory.shop.amounts import month_text

# One model over all years and trims has fewer; the bound keeps a strange address cheap.
MOST_APPLICATIONS = 400
NOT_KNOWN = "?"

_ASKED = {
    "year": ("Which model year?", "It stands on the door label and in the VIN."),
    "wheel": ("Which wheels are on it?", ""),
    "trim": ("Which trim?", ""),
    "mounting": ("Which valve do you see?", ""),
    "band": ("Which band does the tool hear?", "Go by two wheels that agree: one may be wrong."),
    "system": ("Does the tool hear a sensor in any wheel?", "Turn the wheel and try twice."),
}
_CHOICES: dict[str, dict[str, str]] = {
    "mounting": {
        Mounting.SNAP_IN: "Rubber stem (snap-in)",
        Mounting.CLAMP_IN: "Metal stem with a nut (clamp-in)",
        Mounting.STRAP: "Plain valve, sensor strapped round the rim",
        Mounting.INSIDE: "Plain valve, sensor inside the tire",
    },
    "band": dict(Band.choices),
    "system": {System.DIRECT: "Yes", System.INDIRECT: "No, wheel speed only"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the address says so far."""

    make: str = ""
    model: str = ""
    year: int | None = None
    words: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def read(cls, address: QueryDict) -> "Asked":
        said = {name: address.get(name, "").replace("\0", "").strip() for name in address}
        year = said.get("year", "")
        known_year = year.isascii() and year.isdigit() and len(year) == 4
        return cls(
            make=said.get("make", ""),
            model=said.get("model", ""),
            year=int(year) if known_year else None,
            words=said.get("words", ""),
            answers={
                name: value
                for name, value in said.items()
                if name.startswith(BUILT)
                or (name in _ASKED and (name != "year" or value == NOT_KNOWN))
            },
        )

    @property
    def known(self) -> dict[str, str]:
        return {trait: choice for trait, choice in self.answers.items() if choice != NOT_KNOWN}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    value: str
    words: str
    address: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """A question ready to be shown."""

    trait: str
    words: str
    help: str
    choices: tuple[Choice, ...]
    not_known: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Applications that take the same parts, and what tells them from the others left."""

    applications: tuple[Application, ...]
    apart: tuple[str, ...]
    numbers: tuple[str, ...]

    @property
    def first(self) -> Application:
        return self.applications[0]

    @property
    def is_draft(self) -> bool:
        return all(application.is_draft for application in self.applications)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    asked: Asked
    left: tuple[Possible, ...]
    asking: Asking | None
    groups: tuple[Group, ...]
    unmatched_words: bool

    @property
    def settled(self) -> bool:
        return self.asking is None and len(self.groups) == 1


def fit_for(
    address: QueryDict, findings: Findings | None = None, *, built_month: date | None = None
) -> Fit:
    """Narrow down what the address names, and ask the next question if one would help.

    A month of building that is known rules out what was not built in it, as an answer would.
    """
    asked = Asked.read(address)
    applications, unmatched = _named(asked, built_month)
    possible = possible_fits(applications)
    by_year = asked.year is None
    left = remaining(entries(possible, findings=findings, ask_year=by_year), asked.known)
    asking = traits_to_ask(possible, ask_year=by_year)
    traits = [trait for trait in asking if _parts_year(trait, asked.year)]
    question = best_question(left, traits=traits, passed=asked.answers)
    answers = {entry.pk: entry.answer for entry in left}
    kept = tuple(p for p in possible if p.application.pk in answers)
    return Fit(
        asked=asked,
        left=kept,
        asking=_asking(question, address) if question else None,
        groups=() if question else _groups(kept, answers, findings),
        unmatched_words=unmatched,
    )


def _parts_year(trait: str, year: int | None) -> bool:
    """Whether vehicles of this model year were built on both sides of the month asked about."""
    if year is None or not trait.startswith(BUILT):
        return True
    first, last = days_built(year, year, None, None)
    return first.isoformat() < trait.removeprefix(BUILT) <= last.isoformat()


def _named(asked: Asked, built_month: date | None) -> tuple[list[Application], bool]:
    """The applications of make, model and year, narrowed by words unless none would be left."""
    rows = Application.objects.filter(make=asked.make, model=asked.model)
    if asked.year:
        rows = rows.covering(asked.year)
    if built_month:
        rows = rows.built_in(built_month)
    applications = list(rows[:MOST_APPLICATIONS])
    words = typed(asked.words).words
    narrowed = [a for a in applications if _has(a, words)]
    return (narrowed, False) if narrowed else (applications, bool(words))


def _has(application: Application, words: Iterable[str]) -> bool:
    text = f"{application.make} {application.model} {application.trim} {application.wheel}".lower()
    return all(word in text for word in words)


def _asking(question: Question, address: QueryDict) -> Asking:
    words, help_text = question_words(question.trait)
    return Asking(
        trait=question.trait,
        words=words,
        help=help_text,
        choices=tuple(
            Choice(
                value=choice,
                words=choice_words(question.trait, choice),
                address=_with(address, question.trait, choice),
            )
            for choice in question.choices
        ),
        not_known=_with(address, question.trait, NOT_KNOWN),
    )


def _with(address: QueryDict, trait: str, choice: str) -> str:
    further = address.copy()
    further[trait] = choice
    return f"?{further.urlencode()}"


def question_words(trait: str) -> tuple[str, str]:
    if trait.startswith(BUILT):
        return "When was it built?", "The month stands on the door label."
    return _ASKED[trait]


def choice_words(trait: str, choice: str) -> str:
    if trait.startswith(BUILT):
        year, month = trait.removeprefix(BUILT).split("-")
        named = month_text(date(int(year), int(month), 1))
        return f"Before {named}" if choice == "before" else f"{named} or later"
    return _CHOICES.get(trait, {}).get(choice, choice)


def _groups(
    possible: Sequence[Possible], answers: Mapping[int, object], findings: Findings | None
) -> tuple[Group, ...]:
    gathered: dict[object, list[Possible]] = {}
    for one in possible:
        gathered.setdefault(answers[one.application.pk], []).append(one)
    differing = what_differs([one.application for one in possible])
    return tuple(_group(group, differing, findings) for group in gathered.values())


def _group(
    possible: Sequence[Possible], differing: Sequence["Tell"], findings: Findings | None
) -> Group:
    applications = tuple(one.application for one in possible)
    offered = possible[0].offer(findings).offered
    return Group(
        applications=applications,
        apart=tuple(dict.fromkeys(apart(application, differing) for application in applications)),
        numbers=tuple(dict.fromkeys(chosen.part.number for chosen in offered)),
    )


Tell = Callable[[Application], str]
_TOLD: tuple[Tell, ...] = (
    span_text,
    lambda a: a.trim,
    lambda a: a.wheel,
    lambda a: a.get_mounting_display(),
    lambda a: a.get_band_display(),
    lambda a: "" if a.is_direct else "no sensors",
)


def what_differs(applications: Sequence[Application]) -> list[Tell]:
    return [tell for tell in _TOLD if len({tell(a) for a in applications}) > 1]


def apart(application: Application, differing: Iterable[Tell]) -> str:
    """What tells an application from the others, in words."""
    words = [tell(application) for tell in differing]
    return ", ".join(filter(None, words)) or application.years
