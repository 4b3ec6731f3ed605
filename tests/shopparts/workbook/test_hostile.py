"""Whatever is sent as a workbook ends soon, in little memory, in a sentence, nothing written."""

import time

import pytest

from inventory.catalog.models import Application, Fitment, Part
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from tests.bench.row import peak_mb
from tests.shopparts.workbook.hostile import (
    SPOILT,
    hand_made,
    mutated,
    packed,
    sound_book,
    unpacked,
)

pytestmark = pytest.mark.django_db

SECONDS = 2
MEGABYTES = 300


def sentences_of(tmp_path, data, name="sent.xlsx"):
    """Load these bytes as a file, within the limits; what was said, and whether it was written."""
    path = tmp_path / name
    path.write_bytes(data)
    before = peak_mb()
    start = time.process_time()
    report = load(path, sheets())
    assert time.process_time() - start < SECONDS
    assert peak_mb() - before < MEGABYTES
    return [str(fault) for fault in report.faults], report.written


def counts():
    return [model.objects.count() for model in (Application, Part, Fitment)]


class TestHandMade:
    def test_each_ends_in_a_sentence_and_nothing_is_written(self, tmp_path):
        silent = {}
        for name, data in hand_made(tmp_path):
            said, written = sentences_of(tmp_path, data)
            if written or not said or not all(line.endswith(".") for line in said):
                silent[name] = (said, written)
        assert silent == {}
        assert counts() == [0, 0, 0]

    @pytest.mark.parametrize(
        ("name", "sentence"),
        [
            (
                "macros",
                "The file “sent.xlsx” holds macros or embedded files; save it as .xlsx without "
                "them.",
            ),
            (
                "bursts",
                "The file “sent.xlsx” unpacks to more than is read here; split it over several "
                "files.",
            ),
            ("nested entities", "The workbook declares entities of its own; save it again."),
            ("an entity from outside", "The workbook declares entities of its own; save it again."),
            (
                "too wide",
                "Row 1 has a value in column 16384; a sheet here has at most 200 columns.",
            ),
            (
                "thousands of entries",
                "The file “sent.xlsx” is not packed as a workbook is; save it again.",
            ),
        ],
    )
    def test_says_what_it_is(self, tmp_path, name, sentence):
        parts = unpacked(sound_book(tmp_path))
        said, _ = sentences_of(tmp_path, packed(SPOILT[name](parts)))
        assert said[0] == sentence

    def test_an_old_workbook_is_named_as_one(self, tmp_path):
        said, _ = sentences_of(tmp_path, dict(hand_made(tmp_path))["an old workbook"])
        assert said == [
            "The file “sent.xlsx” is an old or a protected workbook; save it as .xlsx without a "
            "password."
        ]

    def test_an_empty_file_is_named_as_one(self, tmp_path):
        assert sentences_of(tmp_path, b"")[0] == ["The file “sent.xlsx” is empty; choose another."]

    def test_a_file_of_another_kind_is_refused(self, tmp_path):
        said, _ = sentences_of(tmp_path, b"%PDF-1.7", name="order.pdf")
        assert said == [
            "The file “order.pdf” is neither .xlsx nor .csv; save it as one of the two."
        ]


class TestMutated:
    @pytest.mark.parametrize("count", [30, pytest.param(300, marks=pytest.mark.soak)])
    def test_each_loads_or_ends_in_a_sentence(self, tmp_path, count):
        wrong = {}
        for name, data in mutated(tmp_path, seed=20260309, count=count):
            before = counts()
            said, written = sentences_of(tmp_path, data)
            if not written and (not said or counts() != before):
                wrong[name] = said
            if not all(line.endswith(".") for line in said):
                wrong[name] = said
        assert wrong == {}
