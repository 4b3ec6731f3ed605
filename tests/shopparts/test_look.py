"""The style sheet keeps its promises: small, and every text colour readable on every ground."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders

SHEET = Path(str(finders.find("shopparts/planner.css"))).read_text()
LIGHT, DARK = (
    dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))
    for block in re.findall(r":root \{(.*?)\}", SHEET, re.S)[:2]
)
PAIRS = [
    (text, ground)
    for text in ("ink", "soft", "act", "good", "warn", "bad", "info")
    for ground in ("paper", "card", "wash")
] + [("on-act", "act")]


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it (published, read)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_and_white_is_21():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), PAIRS)
def test_text_is_readable(tokens, text, ground):
    assert contrast(tokens[text], tokens[ground]) >= 5.5


def test_the_sheet_is_small():
    assert len(SHEET.encode()) < 20_000
