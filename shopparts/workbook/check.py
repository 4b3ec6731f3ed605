"""A workbook checked whole, before anything is written: every fault with its place, in one pass."""

from collections.abc import Mapping
from itertools import islice

from inventory.sheet import Sheet
from shopparts.workbook.cells import Units
from shopparts.workbook.faults import Fault, UnreadableError
from shopparts.workbook.findings import Findings, Told
from shopparts.workbook.headings import LOOKED_THROUGH, likeliest
from shopparts.workbook.keys import Keys
from shopparts.workbook.sheet_check import SheetCheck
from shopparts.workbook.source import Source

CHOICES_TITLE = "Choices"
"""The sheet of words for drop-downs that the writer adds."""

FAULTS_TITLE = "Faults"
"""The sheet that lists what is wrong, in a marked copy."""

_NEVER_READ = {CHOICES_TITLE.casefold(), FAULTS_TITLE.casefold()}


def checked(
    source: Source, sheets: Mapping[str, Sheet], units: Units, *, told: Told | None = None
) -> Findings:
    """Read and check every sheet of a file, in the order in which they name one another.

    sheets : the sheets known, by title, ordered so that what is named comes first
    """
    result = Findings(keys=Keys(sheets))
    titles = _titles(source, sheets, result)
    for title, sheet in sheets.items():
        if title in titles:
            result.sheets.append(sheet)
            SheetCheck(source, titles[title], sheet, units, result, told).run()
    return result


def _titles(source: Source, sheets: Mapping[str, Sheet], result: Findings) -> dict[str, str]:
    """Known titles by the titles of the file; a fault for each unknown one that holds anything."""
    known = {_folded(title): title for title in sheets}
    found: dict[str, str] = {}
    for title in source.titles:
        name = known.get(_folded(title))
        if name is not None:
            found[name] = title
        elif _folded(title) not in _NEVER_READ and _holds_anything(source, title, result):
            result.blame(
                Fault(
                    sheet=title,
                    said=title,
                    expected=_unknown(source, title, sheets),
                )
            )
    if not found and not result.faults:
        result.blame(
            Fault(
                sheet="",
                expected=f"The file “{source.name}” holds no sheet to load; "
                f"the sheets are {', '.join(sheets)}",
            )
        )
    return found


def _unknown(source: Source, title: str, sheets: Mapping[str, Sheet]) -> str:
    if alike := likeliest(sheets.values(), list(islice(source.rows(title), LOOKED_THROUGH))):
        return f"no sheet has this name; by its headings it is “{alike}”: name it so, or remove it"
    return f"no sheet has this name; the sheets are {', '.join(sheets)}"


def _holds_anything(source: Source, title: str, result: Findings) -> bool:
    try:
        return any(True for _ in source.rows(title))
    except UnreadableError as broken:
        result.blame(Fault(sheet="", expected=str(broken)))
        return False


def _folded(title: str) -> str:
    return "".join(letter for letter in title.casefold() if letter.isalnum())
