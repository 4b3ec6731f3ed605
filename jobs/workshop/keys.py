"""Keys that people read aloud and write on a tray: short, without letters taken for digits."""

import secrets
from datetime import date

_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"


def _drawn(length: int) -> str:
    return "".join(secrets.choice(_LETTERS) for _ in range(length))


def vehicle_key() -> str:
    return f"V-{_drawn(8)}"


def keeper_key() -> str:
    return f"K-{_drawn(8)}"


def job_key(site_code: str, day: date) -> str:
    """Such as MAIN-261125-K7Q4: where, when, and which of the day."""
    return f"{site_code}-{day:%y%m%d}-{_drawn(4)}"
