"""How old the stem of a wheel was when its sensor was worked on."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from jobs.workshop.models import Fitted, PieceKind

DAYS_A_YEAR = 365.25
Case = tuple[int, date]
"""A wheel, and the day on which it was worked on."""


def stem_years(cases: Iterable[Case]) -> Mapping[Case, float]:
    """Years by the calendar since the stem came onto the wheel; one that day is not yet counted.

    A case whose stem nobody knows is left out.
    """
    wanted = set(cases)
    wheels = {wheel for wheel, _ in wanted} or {0}
    # By a range: a year of a chain has more wheels than a query may name one by one.
    rows = Fitted.objects.filter(
        wheel__gte=min(wheels), wheel__lte=max(wheels), kind=PieceKind.STEM
    )
    stems: defaultdict[int, list[tuple[date, date | None]]] = defaultdict(list)
    for wheel, since, ended in rows.order_by("since").values_list("wheel", "since", "ended_on"):
        if wheel in wheels:
            stems[wheel].append((since, ended))
    ages = {}
    for wheel, day in wanted:
        there = [
            since for since, ended in stems[wheel] if since < day and (not ended or ended >= day)
        ]
        if there:
            ages[wheel, day] = (day - there[0]).days / DAYS_A_YEAR
    return ages
