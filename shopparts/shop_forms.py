"""Forms of the shop's own records: its settings, its sites, their bins."""

from collections.abc import Iterator
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import ActionForm
from inventory.reorder.forms.fields import DayField, MoneyField, pressure_field, typed_amount
from inventory.shop.models import Bin, BinKind, ShopSettings, Site, SiteKind

GROUPS = (
    ("Name and address", ("name", "address")),
    ("Money and tax", ("currency", "minor_digits", "tax_per_mille", "prices_include_tax")),
    ("Units and dates", ("pressure_unit", "torque_unit", "gauge_tolerance_kpa", "date_order")),
    (
        "How the shelf is planned",
        (
            "shelf_goal",
            "service_target_percent",
            "target_a_percent",
            "target_b_percent",
            "target_c_percent",
            "rush_percent",
            "holding_percent_per_year",
        ),
    ),
    (
        "Labour and service data",
        ("labour_price_cents", "labour_cost_cents", "service_data_yearly_cents"),
    ),
    ("Counts", ("count_confirm_cents",)),
)
SETTINGS = tuple(name for _, names in GROUPS for name in names)
MONEY = tuple(name for name in SETTINGS if name.endswith("_cents"))
HELP = {
    "name": "Stands at the top of every page and paper.",
    "address": "Where suppliers deliver; printed on orders.",
    "minor_digits": "2 for dollars and cents. Fixed, like the currency, once an amount is written.",
    "currency": "Three letters, such as USD or EUR. Fixed once an amount is written: nothing is "
    "converted.",
    "tax_per_mille": "In steps of 0.1%.",
    "prices_include_tax": "Tick where the prices you enter hold the tax; margins are reckoned "
    "without it.",
    "pressure_unit": "Shown on every page, and meant by a number typed without a unit.",
    "torque_unit": "Shown on every page, and meant by a number typed without a unit.",
    "gauge_tolerance_kpa": "Further apart, the page says that sensor and gauge disagree.",
    "date_order": "How days are shown, and how a day written as text in a workbook is read.",
    "service_target_percent": "Of 100 jobs that need a part, how many find it on the shelf.",
    "count_confirm_cents": "What the missing or found pieces cost; below it the counter settles.",
}
LABELS = {
    "pressure_unit": "Pressure in",
    "torque_unit": "Torque in",
    "date_order": "Dates as",
    "prices_include_tax": "Prices are entered with tax",
    "service_target_percent": "Jobs served from the shelf",
    "target_a_percent": "Class A",
    "target_b_percent": "Class B",
    "target_c_percent": "Class C",
    "rush_percent": "A part bought in a hurry costs more by",
    "holding_percent_per_year": "Cost of holding stock, a year",
}


class PercentField(forms.DecimalField):
    """A share typed in percent; kept in thousandths."""

    def __init__(self, **options: Any) -> None:
        super().__init__(min_value=0, max_value=99, decimal_places=1, **options)

    def prepare_value(self, value: Any) -> Any:
        return f"{value / 10:g}" if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return super().has_changed(self.prepare_value(initial), data)

    def clean(self, value: Any) -> Any:
        said = super().clean(value)
        return None if said is None else int(said * 10)


class SettingsForm(ActionForm, forms.ModelForm[ShopSettings]):
    class Meta:
        model = ShopSettings
        fields = SETTINGS
        help_texts = HELP
        labels = LABELS

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["address"].widget = forms.Textarea(attrs={"rows": 3})
        self.units = {name: "%" for name in SETTINGS if "percent" in name or "per_mille" in name}
        self._read_tax_in_percent()
        self._read_money()
        self._read_tolerance()
        for field in self.fields.values():
            # Compared with what the page showed: another's change meanwhile is not taken back.
            field.show_hidden_initial = True

    def _read_tax_in_percent(self) -> None:
        self.fields["tax_per_mille"] = PercentField(
            label="Tax on sales", help_text=HELP["tax_per_mille"]
        )

    def _read_money(self) -> None:
        """With the digits that come with the same page."""
        shop = ShopSettings(currency=self.instance.currency, minor_digits=self._digits())
        for name in MONEY:
            told = self.fields[name]
            self.fields[name] = MoneyField(shop, label=told.label, help_text=told.help_text)
            self.initial[name] = typed_amount(getattr(self.instance, name), self.instance)
            self.units[name] = shop.currency

    def _digits(self) -> int:
        said = self.data.get("minor_digits", "") if self.is_bound else ""
        return int(said) if said in {"0", "1", "2", "3"} else self.instance.minor_digits

    def _read_tolerance(self) -> None:
        field = pressure_field(self.instance, "Sensor and gauge agree within")
        field.required, field.help_text = True, HELP["gauge_tolerance_kpa"]
        self.fields["gauge_tolerance_kpa"] = field
        self.units["gauge_tolerance_kpa"] = str(field.unit.label)

    def clean_currency(self) -> str:
        said = str(self.cleaned_data["currency"]).upper()
        if len(said) != 3 or not (said.isascii() and said.isalpha()):
            raise ValidationError(
                f"“{said}” is no currency code; write three letters such as USD or EUR."
            )
        return said

    def groups(self) -> Iterator[tuple[str, list[tuple[forms.BoundField, str]]]]:
        for title, names in GROUPS:
            yield title, [(self[name], self.units.get(name, "")) for name in names]

    def changes(self) -> dict[str, Any]:
        named = set(self.changed_data)
        if "minor_digits" in named:
            # “100” is another number of minor units now.
            named |= set(MONEY)
        return {name: self.cleaned_data[name] for name in named}


def zones() -> list[str]:
    """Time zones by place; the old names of few letters are left out, though they can be typed."""
    return ["UTC", *sorted(zone for zone in available_timezones() if _is_a_place(zone))]


def _is_a_place(zone: str) -> bool:
    region, slash, _ = zone.partition("/")
    return bool(slash) and region not in {"Etc", "SystemV", "US", "Brazil", "Canada", "Mexico"}


def zone_input() -> forms.TextInput:
    """To be typed into; the page offers `zones` to choose from."""
    return forms.TextInput(attrs={"list": "zones", "autocomplete": "off"})


class SiteForm(ActionForm, forms.ModelForm[Site]):
    asks_logged_from = DayField(
        label="Lost asks logged since",
        required=False,
        help_text="From this day on you write down what was asked for and not there. Before it, a "
        "day with an empty shelf tells the plan nothing; after it, it counts as wanted. Blank: "
        "not yet.",
    )

    class Meta:
        model = Site
        fields = ("name", "code", "kind", "zone", "asks_logged_from")
        widgets = {"zone": zone_input()}
        help_texts = {
            "name": "The street or the part of town.",
            "code": "A few letters for labels, papers and workbooks, such as MAIN.",
            "kind": "A van holds stock of its own too; the plan fills it from the shop.",
            "zone": "Type a city and choose; the site's days and cut-offs follow it.",
        }

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        kinds = [choice for choice in SiteKind.choices if choice[0] != SiteKind.TRANSIT]
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]


class BinsForm(ActionForm):
    lines = forms.CharField(
        label="Bins, one a line",
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text="The code, then where it is if you like: “A-03 left of the door”.",
    )
    kind = forms.ChoiceField(choices=BinKind.choices, initial=BinKind.SHELF)

    def clean_lines(self) -> list[tuple[str, str]]:
        lines = [line.strip() for line in self.cleaned_data["lines"].splitlines()]
        return [_code_and_words(line) for line in lines if line]


def _code_and_words(line: str) -> tuple[str, str]:
    code, _, words = line.replace("\t", " ").replace(";", " ").partition(" ")
    code, words = code.rstrip(","), words.strip()
    if len(code) > _longest("code"):
        raise ValidationError(
            f"The code “{code}” has {len(code)} characters; write at most {_longest('code')}."
        )
    if len(words) > _longest("words"):
        raise ValidationError(
            f"Bin {code}: “{words[:20]}…” has {len(words)} characters; write at most "
            f"{_longest('words')}."
        )
    return code, words


def _longest(name: str) -> int:
    return int(getattr(Bin._meta.get_field(name), "max_length", 0) or 0)


class BinForm(ActionForm, forms.ModelForm[Bin]):
    class Meta:
        model = Bin
        fields = ("code", "words", "kind")
        help_texts = {
            "code": "As it stands on the shelf; labels with the old code must be printed again."
        }
