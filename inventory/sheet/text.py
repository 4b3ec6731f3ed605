"""Text on its way into a cell and back, so that no program runs it and none of it is lost.

A spreadsheet program takes text that begins with = + - @ tab or a carriage return for a formula,
at the latest when the sheet has been through a csv file; an apostrophe before it stops that. What
XML cannot hold, and outer blanks, which the forgiving reader takes away, are written as _xHHHH_
(ECMA-376 Part 1, 22.9.2.19 ST_Xstring).
"""

import re

RUNS = ("=", "+", "-", "@", "\t", "\r")
ERRORS = frozenset({"#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!"})
"""What a cell holds whose formula failed; as text of its own it is guarded like a formula."""

_CONTROLS = "[\x00-\x08\x0b-\x1f\x7f\x85\ufffe\uffff\ud800-\udfff]"
_CONTROL = re.compile(_CONTROLS)
_UNSAFE = re.compile(f"{_CONTROLS}|_(?=x[0-9A-Fa-f]{{4}}_)")
_CODED = re.compile("_x([0-9A-Fa-f]{4})_")


def as_cell(text: str) -> str:
    """The text as a cell may hold it.

    >>> as_cell("=1+1"), as_cell("plain"), as_cell(" a")
    ("'=1+1", 'plain', '_x0020_a')
    """
    if _is_guarded(text) or text.startswith(RUNS) or text in ERRORS:
        text = "'" + text
    text = _UNSAFE.sub(_coded, text)
    if text != text.strip():
        bare = text.strip()
        start = text.index(bare) if bare else len(text)
        ends = (text[:start], text[start + len(bare) :])
        before, behind = ("".join(f"_x{ord(c):04X}_" for c in end) for end in ends)
        text = before + bare + behind
    return text


def as_copy(said: str) -> str:
    """What a cell held, for a copy of that cell: harmless, and read as the first one was.

    >>> as_copy("=1+1"), as_copy("'=1+1")
    ("'=1+1", "'=1+1")
    """
    return _CONTROL.sub(_coded, "'" + said if said.startswith(RUNS) else said)


def from_cell(said: str) -> str:
    """The text that a stripped cell stands for: the inverse of `as_cell`.

    >>> from_cell("'=1+1"), from_cell("'quoted'")
    ('=1+1', "'quoted'")
    """
    text = _CODED.sub(lambda found: chr(int(found[1], 16)), said) if "_x" in said else said
    return text[1:] if text[:1] == "'" and _is_guarded(text) else text


def _is_guarded(text: str) -> bool:
    return text[:1] == "'" and (text[1:].startswith((*RUNS, "'")) or text[1:] in ERRORS)


def _coded(found: re.Match[str]) -> str:
    return f"_x{ord(found[0]):04X}_"
