"""How long a random or fault test runs: short by default, in full with PLANNER_SOAK=1."""

import os


def soak(short: int, full: int) -> int:
    return full if os.environ.get("PLANNER_SOAK") == "1" else short
