"""How a subject declares its sheets of a workbook: columns, units, keys, and the bulk action.

Only the words live here. Files are read, checked and written by the engine of the site; records
are saved by the action each sheet names. `inventory.sheet.records` makes the sheet of a plain
model.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import KW_ONLY, dataclass
from enum import Enum, auto
from typing import Any, Protocol

Row = dict[str, Any]
"""Values by field name. The engine adds "pk": the record this row already names, or None."""

Key = tuple[Any, ...]
"""What names a record: the values of a sheet's key fields."""


class Kind(Enum):
    """What a cell holds, and as what it arrives in a row."""

    TEXT = auto()
    WHOLE = auto()  # int
    NUMBER = auto()  # Decimal
    REAL = auto()  # float
    MONEY = auto()  # int, minor units of the shop's currency
    MINOR_DIGITS = auto()  # int; the money cells after it are read with this many digits
    DATE = auto()  # date
    MONTH = auto()  # date, the first of the month
    TIME = auto()  # time of day
    INSTANT = auto()  # aware datetime, UTC
    YES_NO = auto()  # bool
    CHOICE = auto()  # the value kept, not the word shown
    CHOICES = auto()  # a frozenset of such values, each a yes/no field of the record
    PRESSURE = auto()  # int, kPa
    TORQUE = auto()  # int, cN·m


@dataclass(frozen=True, slots=True)
class Column:
    """One column. What a model's field already says is filled in by `record_sheet`.

    to : title of the sheet whose record this cell names; the cell holds the last field of that
        sheet's key, and `beside` names the fields of this row that hold the ones before it
    path : where the value is read from for export, as a lookup across relations
    default : what a blank cell means
    same : how two texts of a key column are compared; as they stand when absent. A reference
        is read and compared as the column it names.
    also : other headings the trade uses
    flags : for CHOICES, the field that says yes or no to each choice
    words : the choice that a text stands for where it is none of the labels; None or ValueError
        when it stands for none
    checks : each raises ValidationError on a value that cannot be
    """

    heading: str
    field: str
    _: KW_ONLY
    kind: Kind | None = None
    required: bool | None = None
    default: Any = None
    low: int | None = None
    high: int | None = None
    longest: int | None = None
    choices: tuple[tuple[str, str], ...] = ()
    flags: tuple[tuple[str, str], ...] = ()
    words: Callable[[str], str | None] | None = None
    to: str = ""
    beside: tuple[str, ...] = ()
    path: str = ""
    same: Callable[[str], str] | None = None
    also: tuple[str, ...] = ()
    checks: tuple[Callable[[Any], None], ...] = ()
    help: str = ""
    example: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A row that cannot be: the field at fault, "" for the row as a whole, and why."""

    index: int
    field: str
    sentence: str


class RowError(Exception):
    """Raised by a save that finds rows wrong; an index counts the rows it was given, from 0."""

    def __init__(self, *refusals: Refusal) -> None:
        super().__init__(*(refusal.sentence for refusal in refusals))
        self.refusals = refusals


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """One value that a load replaced or would replace."""

    pk: int
    field: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    added: int = 0
    changed: int = 0
    same: int = 0

    def __add__(self, other: "Saved") -> "Saved":
        return Saved(
            added=self.added + other.added,
            changed=self.changed + other.changed,
            same=self.same + other.same,
        )


class Save(Protocol):
    def __call__(self, rows: Iterable[Row], *, by: Any) -> Saved:
        """Insert, update what changed, leave equal rows alone; in the caller's transaction.

        A reference arrives as the primary key of its record; one to a record of this same sheet
        as its key, because that record may stand in an earlier row.
        """


Check = Callable[[Sequence[Row]], Iterable[Refusal]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of the workbook.

    one : what a row is called in a sentence, such as "part"
    key : fields whose values name a row; they are all required
    after : titles of sheets that come first for another reason than a reference
    rows : every record, for export: in one order always, references as the keys they name
    known : every record's values of the key fields, as exported, and its primary key
    checker : makes, for one load, the function that says what the columns cannot see, for a run
        of rows at a time; a reference arrives as in `save`, or as a key where its record comes
        with the same workbook
    compare : what saving would replace, where the sheet can tell
    many : rows that share a key are the lines of one record, such as the movements of a posting
    """

    title: str
    one: str
    note: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    rows: Callable[[], Iterator[Row]]
    known: Callable[[], Iterable[tuple[Key, int]]]
    save: Save
    checker: Callable[[], Check] = lambda: lambda rows: ()
    compare: Callable[[Sequence[Row]], Iterable[Changed]] = lambda rows: ()
    after: tuple[str, ...] = ()
    many: bool = False

    def column(self, field: str) -> Column | None:
        return next((column for column in self.columns if column.field == field), None)

    @property
    def key_columns(self) -> tuple[Column, ...]:
        by_field = {column.field: column for column in self.columns}
        return tuple(by_field[field] for field in self.key)

    def needs(self) -> set[str]:
        """Titles of the sheets whose records must be there before this one's."""
        named = {column.to for column in self.columns if column.to}
        return (named | set(self.after)) - {self.title}
