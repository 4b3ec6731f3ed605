"""Reading reference vectors and putting them to the project's own public functions.

Each adapter module of this package holds ``KINDS``, from a kind to a function that takes the
vector's inputs by name and answers with a dictionary. Nothing here computes an answer or knows
an expected value.
"""

import importlib
import json
import math
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Answer = dict[str, Any]
Adapter = Callable[..., Answer]
Vector = dict[str, Any]

# A list of probabilities has no end of its own: the vector says how many it wants to see.
OPEN_LISTS = {"pmf_from_0": "points"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What came of one vector: ``difference`` is empty when the answer is as expected."""

    id: str
    kind: str
    difference: str

    def __str__(self) -> str:
        return f"{self.id} ({self.kind}) {self.difference or 'ok'}"


def known_kinds() -> dict[str, Adapter]:
    """Every adapter of this package by its kind; one kind has one adapter."""
    kinds: dict[str, Adapter] = {}
    for module in adapter_modules():
        for kind, adapter in module.KINDS.items():
            if kind in kinds:
                raise ValueError(f"two adapters answer the kind {kind!r}; keep one")
            kinds[kind] = adapter
    return kinds


def adapter_modules() -> list[Any]:
    here = Path(__file__).parent
    names = [found.name for found in pkgutil.iter_modules([str(here)])]
    modules = [
        importlib.import_module(f"tests.reference.{name}")
        for name in names
        if name not in {"__main__", "vectors"} and not name.startswith("test_")
    ]
    return [module for module in modules if hasattr(module, "KINDS")]


def read_vectors(path: Path) -> list[Vector]:
    vectors = json.loads(path.read_text(encoding="utf-8"))
    if not isinstance(vectors, list):
        raise ValueError(f"{path}: a vector file is a list of entries")
    return vectors


def answer_to(vector: Vector, kinds: dict[str, Adapter]) -> Answer:
    """The project's answer; KeyError when nothing answers this kind."""
    adapter = kinds[vector["kind"]]
    inputs = dict(vector["inputs"])
    for field, argument in OPEN_LISTS.items():
        if field in vector.get("expected", {}):
            inputs[argument] = len(vector["expected"][field])
    return adapter(**inputs)


def judge(vector: Vector, kinds: dict[str, Adapter]) -> Verdict:
    if vector["kind"] not in kinds:
        difference = f"unknown kind {vector['kind']!r}: no adapter answers it"
    else:
        try:
            difference = difference_between(vector, answer_to(vector, kinds))
        except Exception as fault:
            difference = f"failed with {type(fault).__name__}: {fault}"
    return Verdict(id=vector["id"], kind=vector["kind"], difference=difference)


def difference_between(vector: Vector, answer: Answer) -> str:
    """The first fields that differ, in words; empty when all expected fields agree."""
    wrong = [
        f"{field}: expected {expected!r}, got {answer.get(field, 'nothing')!r}"
        for field, expected in vector["expected"].items()
        if field not in answer or not agrees(answer[field], expected, vector)
    ]
    return "; ".join(wrong)


def agrees(got: Any, expected: Any, vector: Vector) -> bool:
    if isinstance(expected, dict):
        return set(expected) <= set(got) and all(
            agrees(got[key], value, vector) for key, value in expected.items()
        )
    if isinstance(expected, list):
        return len(got) == len(expected) and all(
            agrees(one, other, vector) for one, other in zip(got, expected, strict=True)
        )
    if isinstance(expected, bool | str) or expected is None:
        return bool(got == expected)
    return math.isclose(
        got, expected, rel_tol=vector.get("rel_tol", 0.0), abs_tol=vector.get("abs_tol", 0.0)
    )
