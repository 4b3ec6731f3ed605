"""A file looked at before any parser opens it: uploads are hostile until proven.

Only sizes, names and first bytes are read here. What passes may still be broken; the parsers then
say so, without entities (defusedxml) and within the sizes allowed here.
"""

import zipfile
from pathlib import Path

from shopparts.workbook.faults import UnreadableError

FILE_BYTES = 50_000_000
ENTRIES = 2_000
UNPACKED_BYTES = 400_000_000
# Sheets of our own pack 10 to 25 times smaller; what packs a hundred times is made to burst.
RATIO = 100
RATIO_MATTERS_FROM = 1_000_000
CELLS_A_ROW = 200
ROWS_A_SHEET = 500_000

_ZIP = b"PK\x03\x04"
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_NEEDED = {"[Content_Types].xml", "xl/workbook.xml"}
_RUNS = ("vbaproject", "macrosheets/", "activex/", "embeddings/", "ctrlprops/")


def guarded(path: Path) -> str:
    """What kind of file it is, "xlsx" or "csv".

    Raises
    ------
    UnreadableError
        If the file is missing, too big, of another kind, holds macros or is made to burst.
    """
    start = _start(path)
    if start.startswith(_OLE):
        raise UnreadableError(
            f"The file “{path.name}” is an old or a protected workbook; save it as .xlsx without "
            "a password"
        )
    if start.startswith(_ZIP):
        _refuse_bad_zip(path)
        return "xlsx"
    if path.suffix.lower() in {".csv", ".txt", ".tsv"} and b"\x00" not in start:
        return "csv"
    raise UnreadableError(
        f"The file “{path.name}” is neither .xlsx nor .csv; save it as one of the two"
    )


def _start(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            start = file.read(4096)
    except OSError as broken:
        raise UnreadableError(
            f"The file “{path.name}” cannot be opened ({broken.strerror}); check its name and place"
        ) from None
    if not start:
        raise UnreadableError(f"The file “{path.name}” is empty; choose another")
    if size > FILE_BYTES:
        raise UnreadableError(
            f"The file “{path.name}” has {size // 1_000_000} MB and at most "
            f"{FILE_BYTES // 1_000_000} are read; split it over several files"
        )
    return start


def _refuse_bad_zip(path: Path) -> None:
    try:
        with zipfile.ZipFile(path) as book:
            entries = book.infolist()
    except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError, UnicodeDecodeError):
        raise UnreadableError(
            f"The file “{path.name}” is damaged; open it in a spreadsheet program and save it again"
        ) from None
    names = [entry.filename for entry in entries]
    if not set(names) >= _NEEDED:
        raise UnreadableError(f"The file “{path.name}” is no workbook; save it as .xlsx")
    if len(entries) > ENTRIES or len(set(names)) < len(names):
        raise UnreadableError(
            f"The file “{path.name}” is not packed as a workbook is; save it again"
        )
    if any(part in name.lower() for name in names for part in _RUNS):
        raise UnreadableError(
            f"The file “{path.name}” holds macros or embedded files; save it as .xlsx without them"
        )
    if any(entry.flag_bits & 1 for entry in entries):
        raise UnreadableError(f"The file “{path.name}” is protected; save it without a password")
    if sum(entry.file_size for entry in entries) > UNPACKED_BYTES or any(map(_bursts, entries)):
        raise UnreadableError(
            f"The file “{path.name}” unpacks to more than is read here; split it over several files"
        )


def _bursts(entry: zipfile.ZipInfo) -> bool:
    large = entry.file_size > RATIO_MATTERS_FROM
    return large and entry.file_size > RATIO * max(entry.compress_size, 1)
