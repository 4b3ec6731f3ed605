"""An entry of the catalogue by what a person types for it: its key, or year, make and model."""

from django.core.exceptions import ValidationError

from inventory.catalog import prefix  # noqa: F401  registers the lookup
from inventory.catalog.models import Application
from inventory.catalog.names import typed
from inventory.catalog.spans import span_text

NAMED = 4


def entry_named(text: str) -> Application:
    """The one entry that these words name.

    Raises
    ------
    ValidationError
        If they name none, or several: then it says which.
    """
    key = text.strip()
    if by_key := Application.objects.filter(key__in=[key, key.upper()]).first():
        return by_key
    asked = typed(text)
    found = Application.objects.filter(search_key__prefix=asked.key) if asked.key else None
    if found is not None and asked.year is not None:
        found = found.covering(asked.year)
    entries = list(found[: NAMED + 1]) if found is not None else []
    if not entries:
        raise ValidationError(
            f"No entry is named “{text}”; write year, make and model, or our key, "
            "or add the vehicle first."
        )
    if len(entries) > 1:
        raise ValidationError(f"“{text}” names several entries; write one key: {_listed(entries)}.")
    return entries[0]


def _listed(entries: list[Application]) -> str:
    told = [f"{entry.key} ({_told(entry)})" for entry in entries[:NAMED]]
    return ", ".join(told) + (" and more" if len(entries) > NAMED else "")


def _told(entry: Application) -> str:
    return " ".join(filter(None, [span_text(entry), entry.trim, entry.wheel]))
