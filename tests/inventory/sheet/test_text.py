"""Any text goes into a cell and comes back, and none of it runs."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from inventory.sheet.text import RUNS, as_cell, from_cell


class TestAsCell:
    # The characters that CSV injection starts with (OWASP, "CSV Injection", from memory).
    @pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
    def test_what_a_program_would_run_is_written_behind_an_apostrophe(self, start):
        assert as_cell(f"{start}1+1").startswith("'")
        assert from_cell(as_cell(f"{start}1+1")) == f"{start}1+1"

    @given(st.text())
    @example("'=1")
    @example("''=1")
    @example("_x000D_")
    @example("_x005F_x000D_")
    @example(" \t a \r\n")
    @example("#N/A")
    @example("'#N/A")
    def test_any_text_comes_back(self, text):
        assert from_cell(as_cell(text).strip()) == text

    @given(st.text())
    def test_no_text_starts_as_a_formula_does(self, text):
        assert not as_cell(text).startswith(RUNS)

    def test_escapes_as_the_standard_does(self):
        # ECMA-376 Part 1, 22.9.2.19 (ST_Xstring): _xHHHH_, and _x005F_ for the mark itself.
        assert as_cell("a\rb") == "a_x000D_b"
        assert as_cell("_x000D_") == "_x005F_x000D_"
