"""Forms of a price list: the file, and what its columns mean."""

from typing import TYPE_CHECKING, Any

from django import forms

from inventory.action_form import ActionForm, PostingForm
from inventory.reorder.forms.fields import DayField
from inventory.reorder.models import PriceList
from inventory.reorder.price_file import FILE_BYTES, PriceTable, read_price_file
from inventory.reorder.price_match import COMMA, PER_PACK, PER_PIECE, POINT, REQUIRED, ROLES

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

LABELS = {
    "part": "Part's code, ours or theirs",
    "price": "Price",
    "pack": "Pieces in a pack",
    "minimum": "Least number of packs",
}


class PriceFileForm(PostingForm):
    """Cleans to the table in the file."""

    file = forms.FileField(
        label="Price list",
        help_text=f".xlsx or .csv, at most {FILE_BYTES // 1_000_000} MB. "
        "You see what changes before anything is written.",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv,.txt"}),
    )

    def clean_file(self) -> PriceTable:
        file: UploadedFile[Any] = self.cleaned_data["file"]
        self.file_name = str(file.name)
        # One byte more than is read tells that the file is too large, however large it is.
        return read_price_file(self.file_name, file.read(FILE_BYTES + 1))


class ColumnsForm(ActionForm):
    """Which heading stands for what, and from when the prices hold."""

    def __init__(self, listed: PriceList, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        heads = [(head, head) for head in listed.heads]
        for role, label in LABELS.items():
            needed = role in REQUIRED
            none = "Choose a column" if needed else "Not in this list: as agreed before"
            self.fields[role] = forms.ChoiceField(
                label=label,
                choices=[("", none), *heads],
                required=needed,
                initial=listed.columns.get(role, ""),
            )
        self.fields["per"] = forms.ChoiceField(
            label="The price is of",
            choices=[(PER_PACK, "a pack"), (PER_PIECE, "a piece")],
            initial=listed.columns.get("per", PER_PACK),
        )
        self.fields["mark"] = forms.ChoiceField(
            label="Cents stand behind",
            choices=[(POINT, "a point: 1,234.50"), (COMMA, "a comma: 1.234,50")],
            initial=listed.columns.get("mark", POINT),
        )
        self.fields["valid_from"] = DayField(label="Prices hold from", initial=listed.valid_from)

    def columns(self) -> dict[str, str]:
        return {name: self.cleaned_data[name] for name in (*ROLES, "per", "mark")}
