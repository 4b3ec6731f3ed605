"""What the pressures of a wheel say: whether the sensor is right, and whether the tire is.

A warm tire that shows its placard is low once it has cooled; a sensor that agrees with the gauge
is healthy all the same.
"""

from collections.abc import Iterator

from inventory.shop.amounts import pressure_text
from inventory.shop.models import ShopSettings
from jobs.review.inputs.wheels import WheelCase
from jobs.workshop.pressure import COLD_C, sensor_agrees, tire_at_today


def pressure_findings(case: WheelCase, shop: ShopSettings) -> Iterator[str]:
    sensor, gauge = case.reading, case.gauge
    if sensor and gauge and None not in (sensor.pressure_kpa, gauge.pressure_kpa):
        assert sensor.pressure_kpa is not None
        assert gauge.pressure_kpa is not None
        agrees = sensor_agrees(
            sensor.pressure_kpa,
            gauge_kpa=gauge.pressure_kpa,
            tolerance_kpa=shop.gauge_tolerance_kpa,
        )
        said = pressure_text(gauge.pressure_kpa, shop)
        yield (
            f"Sensor and gauge agree ({said}): the sensor is healthy."
            if agrees
            else f"The gauge says {said}: the sensor does not tell the truth."
        )
    yield from _cold(case, shop)


def _cold(case: WheelCase, shop: ShopSettings) -> Iterator[str]:
    """The gauge's pressure counts where there is one; the temperature only a sensor knows."""
    sensor, gauge = case.reading, case.gauge
    shown = gauge.pressure_kpa if gauge and gauge.pressure_kpa is not None else None
    if shown is None and sensor is not None:
        shown = sensor.pressure_kpa
    if shown is None or sensor is None or sensor.temperature_c is None or not case.placard_kpa:
        return
    tire = tire_at_today(
        shown,
        tire_c=sensor.temperature_c,
        placard_kpa=case.placard_kpa,
        tolerance_kpa=shop.gauge_tolerance_kpa,
    )
    if tire.low:
        short = pressure_text(round(tire.short_kpa), shop)
        placard = pressure_text(case.placard_kpa, shop)
        yield (
            f"Cold, at {COLD_C} °C, this tire is about {short} below its placard of {placard}: "
            "set it cold, and look for a leak."
        )
