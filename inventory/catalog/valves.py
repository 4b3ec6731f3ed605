"""Snap-in valves: where they are allowed, and by which names the two rim holes go.

Clamp-in valves have no such limits here. Torques are no part of this: they belong to the sensor
and are looked up, never assumed.
"""

from dataclasses import dataclass
from decimal import Decimal

Amount = Decimal | float | int

# Tire and Rim Association valve table (published, read in a reprint): above 130 mph, which it
# also prints as 210 km/h, clamp-in valves are recommended.
SNAP_IN_TOP_SPEED_KMH = 210
STANDARD_RATING_KPA = 450
"""A snap-in with nothing else printed on it: 65 psi, 450 kPa cold."""

# Names, not sizes: 11.5 and 15.7 are not conversions of the inch values. One hole, several names
# (common practice, no source).
_HOLES = {
    "453": ("453", ".453", "0.453", "11.5", "11,5"),
    "625": ("625", ".625", "0.625", "15.7", "15,7"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SnapInLimits:
    """What speaks against a snap-in: the first rules it out, the second puts it last."""

    over_rating: bool
    over_speed: bool

    @property
    def allowed(self) -> bool:
        return not (self.over_rating or self.over_speed)


def snap_in_limits(
    *, rated_kpa: Amount, placard_kpa: Amount, set_kpa: Amount = 0, top_speed_kmh: Amount = 0
) -> SnapInLimits:
    """Hold a snap-in valve against the pressure really set and the vehicle's top speed.

    Parameters
    ----------
    rated_kpa, placard_kpa : pressure the valve is rated for, and the placard's, cold
    set_kpa : pressure set today; on a loaded van it is above the placard
    top_speed_kmh : 0 where it is not known

    Source: Tire and Rim Association, snap-in valve table (published, read in a reprint).

    >>> snap_in_limits(rated_kpa=450, placard_kpa=450, top_speed_kmh=180).allowed
    True
    >>> snap_in_limits(rated_kpa=450, placard_kpa=420, set_kpa=480)
    SnapInLimits(over_rating=True, over_speed=False)
    """
    return SnapInLimits(
        over_rating=max(placard_kpa, set_kpa) > rated_kpa,
        over_speed=top_speed_kmh > SNAP_IN_TOP_SPEED_KMH,
    )


def hole(name: str) -> str | None:
    """The hole a name stands for: "453" or "625"; None when the name stands for neither.

    >>> hole(".453 in"), hole("15.7"), hole("8.8")
    ('453', '625', None)
    """
    bare = name.strip().lower().removesuffix("in").removesuffix("mm").removesuffix("inch").strip()
    return next((key for key, names in _HOLES.items() if bare in names), None)
