"""Labels for bins and parts on sheets of labels: words to read, and a bar code to scan.

The sheets are known by their paper and the size of a label. Bars are Code 128 (ISO/IEC 15417).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.graphics.barcode.code128 import Code128
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import inch, mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from inventory.catalog.models import CodeKind, Part
from inventory.ledger.scanned import label_of
from inventory.shop.models import Bin

# Common practice, no source: what an office printer draws cleanly and a hand scanner reads.
THINNEST_BAR, THICKEST_BAR = 0.19 * mm, 0.42 * mm
QUIET_BARS = 10
PADDING = 2 * mm
SMALL = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """`head` is read from afar, `words` from near, `code` by a scanner."""

    head: str
    words: str
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSheet:
    """Lengths in points; `left` and `top` are the margins, `across` from one label to the next."""

    title: str
    paper: tuple[float, float]
    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    across: float

    @property
    def labels(self) -> int:
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """The lower left corner of a label, counted in rows from the upper left one."""
        row, column = divmod(place % self.labels, self.columns)
        return (
            self.left + column * self.across,
            self.paper[1] - self.top - (row + 1) * self.height,
        )


# Sizes in common use (common practice, no source).
SHEETS = {
    "a4-24": LabelSheet(
        title="A4, 24 labels of 70 × 37 mm",
        paper=A4,
        columns=3,
        rows=8,
        width=70 * mm,
        height=37 * mm,
        left=0,
        top=0.5 * mm,
        across=70 * mm,
    ),
    "a4-21": LabelSheet(
        title="A4, 21 labels of 63.5 × 38.1 mm",
        paper=A4,
        columns=3,
        rows=7,
        width=63.5 * mm,
        height=38.1 * mm,
        left=7.2 * mm,
        top=15.1 * mm,
        across=66 * mm,
    ),
    "letter-30": LabelSheet(
        title="Letter, 30 labels of 2⅝ × 1 in",
        paper=LETTER,
        columns=3,
        rows=10,
        width=2.625 * inch,
        height=inch,
        left=0.1875 * inch,
        top=0.5 * inch,
        across=2.75 * inch,
    ),
    "letter-10": LabelSheet(
        title="Letter, 10 labels of 4 × 2 in",
        paper=LETTER,
        columns=2,
        rows=5,
        width=4 * inch,
        height=2 * inch,
        left=0.15625 * inch,
        top=0.5 * inch,
        across=4.1875 * inch,
    ),
}


def bin_label(bin: Bin) -> Label:
    return Label(
        head=bin.code, words=", ".join(filter(None, (bin.words, bin.site.name))), code=label_of(bin)
    )


def part_label(part: Part) -> Label:
    """With our own label's code where it has one, else its number; its codes are read ahead."""
    own = [code.code for code in part.codes.all() if code.kind == CodeKind.LABEL]
    return Label(head=part.number, words=part.words, code=own[0] if own else part.number)


def labels_pdf(labels: Sequence[Label], sheet: LabelSheet, *, used: int = 0) -> bytes:
    """A PDF of as many sheets as it takes; `used` labels of the first are left out."""
    file = BytesIO()
    canvas = Canvas(file, pagesize=sheet.paper)
    canvas.setTitle("Labels")
    for place, label in enumerate(labels, start=used):
        if place % sheet.labels == 0 and place > used:
            canvas.showPage()
        _draw(canvas, label, sheet, *sheet.corner(place))
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, label: Label, sheet: LabelSheet, x: float, y: float) -> None:
    """From above: what it is, in words, the bars, and what they say."""
    room, middle = sheet.width - 2 * PADDING, x + sheet.width / 2
    size = min(20.0, sheet.height / 4)
    head = y + sheet.height - PADDING - size
    words, foot = head - SMALL - 2, y + PADDING + SMALL
    canvas.setFont("Helvetica-Bold", fitting_size(label.head, room, size))
    canvas.drawCentredString(middle, head, label.head)
    canvas.setFont("Helvetica", SMALL)
    for line in simpleSplit(label.words, "Helvetica", SMALL, room)[:1]:
        canvas.drawCentredString(middle, words, line)
    bars = bars_of(label.code, room, height=min(sheet.height / 3, words - 3 - foot))
    if bars:
        bars.drawOn(canvas, middle - bars.width / 2, foot)
    canvas.drawCentredString(middle, y + PADDING, label.code)


def fitting_size(text: str, room: float, size: float) -> float:
    """The size of letters, or less where the text would be wider than the room."""
    wide: float = stringWidth(text, "Helvetica-Bold", size)
    return size * min(1.0, room / max(1.0, wide))


def bars_of(code: str, room: float, *, height: float) -> Code128 | None:
    """The bar code as wide as fits; None where its bars would be too thin to read, or not ASCII."""
    if not code.isascii():
        return None
    one = Code128(code, barWidth=1, quiet=False)
    bar = min(THICKEST_BAR, room / (one.width + 2 * QUIET_BARS))
    if bar < THINNEST_BAR:
        return None
    return Code128(code, barWidth=bar, barHeight=height, quiet=False)
