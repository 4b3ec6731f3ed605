"""The speed table of the README: what a whole run measured last."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

README = Path("README.md")
BEGINS, ENDS = "<!-- measured -->\n", "<!-- end of measured -->"
HEAD = "| work | against | ours | goal |\n|---|---|---|---|\n"
# The others measure how right the product is, not how fast.
OF_SPEED = ("planning", "plan", "fit", "ledger", "workbook", "replacement", "pages", "money")
NOT_OF_SPEED = "the truth"


def speed_table(rows: Iterable[dict[str, Any]]) -> str:
    told = (r for r in rows if r["part"] in OF_SPEED and r["against"] != NOT_OF_SPEED)
    return HEAD + "".join(map(_line, told))


def _line(row: dict[str, Any]) -> str:
    side = "≥" if row["at_least"] else "≤"
    ours = f"{row['ratio']:.2f} ×" if row["reached"] else f"**{row['ratio']:.2f} ×, missed**"
    return f"| {row['work']} | {row['against']} | {ours} | {side} {row['goal']:g} × |\n"


def with_table(text: str, table: str) -> str:
    before, _, rest = text.partition(BEGINS)
    _, _, after = rest.partition(ENDS)
    return before + BEGINS + table + ENDS + after


def write_table(rows: Iterable[dict[str, Any]]) -> None:
    text = README.read_text(encoding="utf-8")
    README.write_text(with_table(text, speed_table(rows)), encoding="utf-8")
