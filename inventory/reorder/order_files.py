"""The paper of an order written as a PDF and as a workbook, both in the shop's name."""

import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from functools import partial
from html import escape
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from reportlab.lib import colors
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from inventory.reorder.order_paper import OrderPaper, PaperLine
from inventory.sheet.text import as_cell
from inventory.shop.amounts import amount_text, day_text, money_text

PLAIN = ParagraphStyle("plain", fontName="Helvetica", fontSize=10, leading=13)
NUMBER = ParagraphStyle("number", parent=PLAIN, alignment=TA_RIGHT)
HEAD = ParagraphStyle("head", parent=PLAIN, fontName="Helvetica-Bold", fontSize=8.5, leading=11)
NUMBER_HEAD = ParagraphStyle("number head", parent=HEAD, alignment=TA_RIGHT)
TITLE = ParagraphStyle("title", parent=PLAIN, fontName="Helvetica-Bold", fontSize=16, leading=20)
# Where these are the money, paper is Letter; everywhere else it is A4 (common practice, no source).
LETTER_CURRENCIES = {"USD", "CAD"}
MARGIN = 18 * mm
WIDTHS = (28 * mm, 52 * mm, 16 * mm, 18 * mm, 16 * mm, 22 * mm, 22 * mm)
FIRST_NUMBER_COLUMN = 2


def order_pdf(paper: OrderPaper) -> bytes:
    """On Letter or A4, with the heads of the columns again on every page."""
    out = BytesIO()
    size = LETTER if paper.shop.currency in LETTER_CURRENCIES else A4
    document = SimpleDocTemplate(
        out,
        pagesize=size,
        title=printable(paper.title),
        author=printable(paper.shop.name),
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN,
        pageCompression=0,
    )
    foot = partial(_foot, paper=paper)
    document.build(
        [
            *_letterhead(paper),
            Spacer(1, 6 * mm),
            _table(paper),
            Spacer(1, 4 * mm),
            *(Paragraph(_said(words), PLAIN) for words in _below(paper)),
        ],
        onFirstPage=foot,
        onLaterPages=foot,
    )
    return out.getvalue()


def printable(text: str) -> str:
    """The text in letters that every PDF reader has: marks it lacks are left off their letters."""
    return "".join(_letter(letter) for letter in text)


def _letter(letter: str) -> str:
    for form in (letter, unicodedata.normalize("NFKD", letter)):
        found = form.encode("cp1252", "ignore").decode("cp1252")
        if found:
            return found
    return "?"


def _said(text: str) -> str:
    """Plain text: what looks like markup is no markup."""
    return escape(printable(text))


def _letterhead(paper: OrderPaper) -> list[Any]:
    order, shop = paper.order, paper.shop
    ours = [f"<b>{_said(shop.name)}</b>", *map(_said, shop.address.splitlines())]
    facts = [("To", str(order.supplier)), ("Date", day_text(paper.on, shop))]
    facts += [("Our customer number", order.supplier.our_number), ("Deliver to", str(order.site))]
    facts += [("Note", order.words)]
    told = [f"<b>{_said(name)}:</b> {_said(value)}" for name, value in facts if value]
    beside = [[Paragraph("<br/>".join(ours), PLAIN), Paragraph("<br/>".join(told), PLAIN)]]
    plain = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]
    table = Table(beside, colWidths=(sum(WIDTHS) / 2,) * 2, style=TableStyle(plain))
    return [Paragraph(_said(paper.title), TITLE), Spacer(1, 4 * mm), table]


def _table(paper: OrderPaper) -> Table:
    shop = paper.shop
    heads = ["Your number", "Part", "Packs", "Pieces in a pack", "Pieces"]
    heads += [f"Price of a pack, {shop.currency}", f"Cost, {shop.currency}"]
    rows = [_cells(heads, HEAD, NUMBER_HEAD)]
    for line in paper.lines:
        words = " ".join(filter(None, (line.number, line.words, line.mark and f"({line.mark})")))
        figures = (str(line.packs), str(line.pack), str(line.pieces))
        prices = (
            "" if cents is None else amount_text(cents, shop)
            for cents in (line.pack_price_cents, line.value_cents)
        )
        rows.append(_cells((line.code, words, *figures, *prices), PLAIN, NUMBER))
    ruled = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, colors.grey),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ]
    return Table(rows, colWidths=WIDTHS, repeatRows=1, style=TableStyle(ruled))


def _cells(words: Sequence[str], style: ParagraphStyle, number: ParagraphStyle) -> list[Paragraph]:
    return [
        Paragraph(_said(text), number if place >= FIRST_NUMBER_COLUMN else style)
        for place, text in enumerate(words)
    ]


def _below(paper: OrderPaper) -> list[str]:
    """What is said under the lines; one sentence a line."""
    shop = paper.shop
    told = [f"Total {money_text(paper.total_cents, shop)}"]
    if paper.without_price:
        told[0] += f", and {paper.without_price} without a price: please tell us yours"
    if paper.freight_cents:
        told.append(f"Freight {money_text(paper.freight_cents, shop)}")
    return told


def _foot(canvas: Any, document: Any, *, paper: OrderPaper) -> None:
    canvas.setFont("Helvetica", 8)
    words = f"{paper.shop.name} · {paper.title} · page {document.page}"
    canvas.drawString(MARGIN, MARGIN / 2, printable(words))


def order_workbook(paper: OrderPaper) -> bytes:
    """One sheet: who orders from whom, then a row a line. No cell is a formula."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Order"
    for row in _heading(paper):
        sheet.append(row)
    heads = ["Your number", "Our number", "Description", "Packs", "Pieces in a pack", "Pieces"]
    money = [f"Price of a pack, {paper.shop.currency}", f"Cost, {paper.shop.currency}"]
    sheet.append([*heads, *money, "Mark"])
    first = sheet.max_row
    for line in paper.lines:
        sheet.append(_row(line, paper))
    sheet.append([])
    sheet.append(["Total", *[None] * 6, _amount(paper.total_cents, paper)])
    _dress(sheet, first)
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _heading(paper: OrderPaper) -> list[list[Any]]:
    order = paper.order
    told = [
        ("From", paper.shop.name),
        *(("", line) for line in paper.shop.address.splitlines()),
        ("To", str(order.supplier)),
        ("Our customer number", order.supplier.our_number),
        ("Deliver to", str(order.site)),
        ("Note", order.words),
    ]
    rows: list[list[Any]] = [[as_cell(name), as_cell(value)] for name, value in told if value]
    return [[as_cell(paper.title)], *rows, ["Date", paper.on], []]


def _row(line: PaperLine, paper: OrderPaper) -> list[Any]:
    words = [as_cell(text) for text in (line.code, line.number, line.words)]
    prices = [_amount(line.pack_price_cents, paper), _amount(line.value_cents, paper)]
    return [*words, line.packs, line.pack, line.pieces, *prices, as_cell(line.mark)]


def _amount(cents: int | None, paper: OrderPaper) -> Decimal | None:
    return None if cents is None else Decimal(cents).scaleb(-paper.shop.minor_digits)


def _dress(sheet: Any, head: int) -> None:
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell.value, Decimal):
                cell.number_format = "0." + "0" * max(0, -int(cell.value.as_tuple().exponent))
    for cell in sheet[head]:
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
    sheet["A1"].font = Font(bold=True, size=14)
    for number, width in enumerate((22, 22, 44, 8, 10, 8, 14, 14, 24), start=1):
        sheet.column_dimensions[get_column_letter(number)].width = width
    sheet.page_setup.orientation, sheet.page_setup.fitToHeight = "landscape", 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = f"{head}:{head}"
