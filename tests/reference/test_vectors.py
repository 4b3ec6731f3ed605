"""Every reference vector in fixtures/reference, and proof that a wrong one would be seen."""

import json
from pathlib import Path

import pytest

from tests.reference.__main__ import main
from tests.reference.vectors import judge, known_kinds, read_vectors

FILES = sorted((Path(__file__).parents[2] / "fixtures" / "reference").glob("*.json"))
VECTORS = [vector for file in FILES for vector in read_vectors(file)]
KINDS = known_kinds()


@pytest.mark.parametrize("vector", VECTORS, ids=[vector["id"] for vector in VECTORS])
def test_reference_vector(vector):
    assert judge(vector, KINDS).difference == ""


def written(tmp_path, *vectors):
    file = tmp_path / "vectors.json"
    file.write_text(json.dumps(vectors))
    return str(file)


GTIN = {"id": "gtin", "kind": "gtin_check_digit", "inputs": {"body": "629104150021"}}


class TestMain:
    def test_passes_a_right_value(self, tmp_path, capsys):
        file = written(tmp_path, GTIN | {"expected": {"check_digit": "3"}, "abs_tol": 0})
        assert main([file]) == 0
        assert capsys.readouterr().out == "gtin (gtin_check_digit) ok\n1 passed, 0 failed\n"

    def test_fails_a_wrong_value_and_says_what_differs(self, tmp_path, capsys):
        file = written(tmp_path, GTIN | {"expected": {"check_digit": "4"}, "abs_tol": 0})
        assert main([file]) == 1
        assert capsys.readouterr().out == (
            "gtin (gtin_check_digit) check_digit: expected '4', got '3'\n0 passed, 1 failed\n"
        )

    def test_fails_an_unknown_kind(self, tmp_path, capsys):
        vector = {"id": "x", "kind": "phase_of_the_moon", "inputs": {}, "expected": {}}
        assert main([written(tmp_path, vector)]) == 1
        assert capsys.readouterr().out == (
            "x (phase_of_the_moon) unknown kind 'phase_of_the_moon': no adapter answers it\n"
            "0 passed, 1 failed\n"
        )

    def test_fails_a_field_that_the_answer_lacks(self, tmp_path, capsys):
        file = written(tmp_path, GTIN | {"expected": {"colour": 1}})
        assert main([file]) == 1
        assert "colour: expected 1, got 'nothing'" in capsys.readouterr().out

    def test_fails_when_the_function_refuses_the_inputs(self, tmp_path, capsys):
        vector = {"id": "x", "kind": "gtin_check_digit", "inputs": {}, "expected": {}}
        assert main([written(tmp_path, vector)]) == 1
        assert "failed with TypeError" in capsys.readouterr().out

    def test_only_answers_when_asked_to(self, tmp_path, capsys):
        assert main(["--answers", written(tmp_path, GTIN)]) == 0
        assert json.loads(capsys.readouterr().out) == {"gtin": {"check_digit": "3"}}
