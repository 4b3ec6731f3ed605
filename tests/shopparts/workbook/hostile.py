"""Broken and hostile workbooks: a few made by hand, and mutated ones from a seed.

Nothing here is a real attack found anywhere; each does what the classes of attack on zip and XML
do: burst, nest, lie about sizes, declare entities, hold macros, cut off, overflow.
"""

import random
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path

from tests.shopparts.workbook.book import small_catalogue, write_book

SHEET = "xl/worksheets/sheet2.xml"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"

Parts = dict[str, bytes]
BURSTING = b" bursts "
"""Stands for 300 MB of blanks."""

_MEGABYTE = b" " * 1_000_000


def sound_book(folder: Path) -> bytes:
    return write_book(folder / "sound.xlsx", **small_catalogue()).read_bytes()


def unpacked(book: bytes) -> Parts:
    with zipfile.ZipFile(BytesIO(book)) as file:
        return {name: file.read(name) for name in file.namelist()}


def packed(parts: Parts) -> bytes:
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            with file.open(name, "w") as entry:
                # The bomb is packed piece by piece: the test is to stay small too.
                for _ in range(300 if data is BURSTING else 0):
                    entry.write(_MEGABYTE)
                entry.write(data)
    return out.getvalue()


def sheet_of(rows: str) -> bytes:
    return f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'.encode()


def _bomb(parts: Parts) -> Parts:
    return parts | {SHEET: BURSTING}


def _entities(parts: Parts) -> Parts:
    nest = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    head = f'<!DOCTYPE w [<!ENTITY e0 "aaaaaaaaaa">{nest}]>'.encode()
    row = '<row r="1"><c r="A1" t="str"><v>&e11;</v></c></row>'
    return parts | {SHEET: head + sheet_of(row)}


def _outside(parts: Parts) -> Parts:
    head = b'<!DOCTYPE w [<!ENTITY out SYSTEM "file:///etc/hostname">]>'
    row = '<row r="1"><c r="A1" t="str"><v>&out;</v></c></row>'
    return parts | {SHEET: head + sheet_of(row)}


def _entities_in_strings(parts: Parts) -> Parts:
    head = b'<!DOCTYPE w [<!ENTITY e "aaaa">]>'
    strings = head + f'<sst xmlns="{MAIN}"><si><t>&e;</t></si></sst>'.encode()
    types = parts["[Content_Types].xml"].replace(
        b"</Types>",
        b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-'
        b'officedocument.spreadsheetml.sharedStrings+xml"/></Types>',
    )
    return parts | {"xl/sharedStrings.xml": strings, "[Content_Types].xml": types}


def _wide(parts: Parts) -> Parts:
    return parts | {SHEET: sheet_of('<row r="1"><c r="XFD1"><v>1</v></c></row>' * 1000)}


def _far_row(parts: Parts) -> Parts:
    return parts | {SHEET: sheet_of('<row r="99999999999"><c r="A1"><v>1</v></c></row>')}


def _deep(parts: Parts) -> Parts:
    return parts | {SHEET: sheet_of("<row>" * 100_000)}


def _macro(parts: Parts) -> Parts:
    return parts | {"xl/vbaProject.bin": b"anything"}


def _climbing(parts: Parts) -> Parts:
    rels = parts["xl/_rels/workbook.xml.rels"]
    return parts | {
        "xl/_rels/workbook.xml.rels": rels.replace(b"/xl/worksheets", b"/../../etc"),
        "../../etc/sheet1.xml": b"<x/>",
    }


def _no_sheet(parts: Parts) -> Parts:
    return {name: data for name, data in parts.items() if name != SHEET}


def _bad_index(parts: Parts) -> Parts:
    return parts | {SHEET: sheet_of('<row r="1"><c r="A1" t="s"><v>99</v></c></row>')}


def _bad_number(parts: Parts) -> Parts:
    return parts | {SHEET: sheet_of('<row r="1"><c r="A1"><v>1e99999</v></c></row>')}


def _long_number(parts: Parts) -> Parts:
    return parts | {SHEET: sheet_of(f'<row r="1"><c r="A1"><v>{"9" * 200_000}</v></c></row>')}


def _many_entries(parts: Parts) -> Parts:
    return parts | {f"xl/media/{n}.png": b"" for n in range(5_000)}


SPOILT: dict[str, Callable[[Parts], Parts]] = {
    "bursts": _bomb,
    "nested entities": _entities,
    "an entity from outside": _outside,
    "entities in the strings": _entities_in_strings,
    "too wide": _wide,
    "a row beyond all rows": _far_row,
    "nested rows": _deep,
    "macros": _macro,
    "names that climb": _climbing,
    "a sheet that is not there": _no_sheet,
    "a string that is not there": _bad_index,
    "a number beyond all numbers": _bad_number,
    "a number of 200,000 digits": _long_number,
    "thousands of entries": _many_entries,
}


def hand_made(folder: Path) -> Iterator[tuple[str, bytes]]:
    sound = sound_book(folder)
    parts = unpacked(sound)
    for name, spoil in SPOILT.items():
        yield name, packed(spoil(dict(parts)))
    yield "empty", b""
    yield "no workbook", b"just words"
    yield "an old workbook", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000)
    yield "cut short", sound[: len(sound) // 2]
    yield "a zip of something else", packed({"readme.txt": b"hello"})
    yield "one name twice", _twice(sound)


def _twice(book: bytes) -> bytes:
    """A second entry of the first one's name, by overwriting another of the same length."""
    return book.replace(b"xl/worksheets/sheet3.xml", b"xl/worksheets/sheet2.xml")


def mutated(folder: Path, *, seed: int, count: int) -> Iterator[tuple[str, bytes]]:
    """Sound workbooks with bytes changed: in the file, or inside an entry that is packed again."""
    sound = sound_book(folder)
    parts = unpacked(sound)
    rng = random.Random(seed)
    for number in range(count):
        if number % 2:
            yield f"file {number}", _shaken(rng, sound)
            continue
        name = rng.choice(sorted(parts))
        yield f"{name} {number}", packed(parts | {name: _shaken(rng, parts[name])})


def _shaken(rng: random.Random, data: bytes) -> bytes:
    shaken = bytearray(data)
    for _ in range(rng.choice((1, 3, 20))):
        place = rng.randrange(len(shaken))
        way = rng.randrange(4)
        if way == 0:
            shaken[place] = rng.randrange(256)
        elif way == 1:
            del shaken[place : place + rng.randrange(1, 50)]
        elif way == 2:
            shaken[place:place] = shaken[: rng.randrange(1, 200)]
        else:
            shaken[place:place] = rng.choice((b"<", b"&", b'"', b"\x00", b"]]>", b"9" * 50))
        if not shaken:
            break
    return bytes(shaken)
