"""``python -m tests.reference FILE…`` compares; with ``--answers`` it only answers."""

import argparse
import json
import sys
from pathlib import Path

from tests.reference.vectors import Adapter, Vector, answer_to, judge, known_kinds, read_vectors


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.reference",
        description="Put reference vectors to the project's own arithmetic.",
    )
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
    parser.add_argument(
        "--answers", action="store_true", help="print {id: answer} and compare nothing"
    )
    options = parser.parse_args(arguments)
    vectors = [vector for file in options.files for vector in read_vectors(file)]
    kinds = known_kinds()
    return print_answers(vectors, kinds) if options.answers else print_verdicts(vectors, kinds)


def print_verdicts(vectors: list[Vector], kinds: dict[str, Adapter]) -> int:
    verdicts = [judge(vector, kinds) for vector in vectors]
    for verdict in verdicts:
        print(verdict)
    failed = sum(1 for verdict in verdicts if verdict.difference)
    print(f"{len(verdicts) - failed} passed, {failed} failed")
    return 1 if failed else 0


def print_answers(vectors: list[Vector], kinds: dict[str, Adapter]) -> int:
    answers = {}
    unknown = [vector for vector in vectors if vector["kind"] not in kinds]
    for vector in vectors:
        if vector["kind"] in kinds:
            without = {field: value for field, value in vector.items() if field != "expected"}
            answers[vector["id"]] = answer_to(without, kinds)
    print(json.dumps(answers))
    for vector in unknown:
        print(f"{vector['id']}: unknown kind {vector['kind']!r}", file=sys.stderr)
    return 1 if unknown else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
