"""The one question that best tells apart the applications still possible.

Pure: an entry is whatever remains possible, its traits are what could be asked about it, its
answer is what the shop would do. Nothing here is written for a particular vehicle.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One application still possible.

    A trait lists the choices the entry admits; a trait it does not list admits any choice.
    """

    pk: int
    traits: Mapping[str, frozenset[str]]
    answer: Hashable

    def admits(self, trait: str, choice: str) -> bool:
        return choice in self.traits.get(trait, (choice,))


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    trait: str
    choices: tuple[str, ...]
    answers_left: float
    """How many different answers remain on average once it is answered."""


def remaining(entries: Iterable[Entry], answers: Mapping[str, str]) -> list[Entry]:
    """The entries that admit every choice made."""
    return [
        entry
        for entry in entries
        if all(entry.admits(trait, choice) for trait, choice in answers.items())
    ]


def best_question(
    entries: Sequence[Entry], *, traits: Sequence[str], passed: Iterable[str] = ()
) -> Question | None:
    """The question that leaves the fewest different answers on average; None if none helps.

    Each entry is as likely as another, and so is each choice an entry admits:
    Σ over entries and the choices they admit of (1 / entries / choices) × different answers left.

    Parameters
    ----------
    entries : the applications still possible
    traits : what may be asked, easiest first; among equals the easier one is asked
    passed : traits already answered, or answered with "I don't know"

    Returns
    -------
    A question whose every choice is admitted by some entry, and that leaves fewer answers than
    there are now. A trait that changes no answer is never asked.
    """
    now = len({entry.answer for entry in entries})
    asked = set(passed)
    questions = [_question(entries, trait) for trait in traits if trait not in asked]
    helpful = [question for question in questions if question.answers_left < now - 1e-9]
    return min(helpful, key=lambda q: (round(q.answers_left, 9), len(q.choices)), default=None)


def _question(entries: Sequence[Entry], trait: str) -> Question:
    choices = tuple(sorted({choice for entry in entries for choice in entry.traits.get(trait, ())}))
    left, weights = 0.0, _weights(entries, trait, choices)
    for choice, weight in zip(choices, weights, strict=True):
        left += weight * len({e.answer for e in entries if e.admits(trait, choice)})
    if not choices:
        left = float(len({entry.answer for entry in entries}))
    return Question(trait=trait, choices=choices, answers_left=left)


def _weights(entries: Sequence[Entry], trait: str, choices: Sequence[str]) -> list[float]:
    """How likely each choice is to be the reply."""
    weights = dict.fromkeys(choices, 0.0)
    for entry in entries:
        admitted = entry.traits.get(trait, choices)
        for choice in admitted:
            weights[choice] += 1 / len(entries) / len(admitted)
    return list(weights.values())
