"""Adapters for facts of the trade: units and words of a vector in, the project's own answer out."""

from typing import Any

from inventory.catalog import codes, radio, valves
from inventory.catalog import vin as vins
from inventory.shop import units
from jobs.costing import ratios
from jobs.workshop import pressure

Answer = dict[str, Any]


def vin_check_digit(*, vin: str) -> Answer:
    return {"check_digit": vins.check_digit(vin), "passes": vins.passes_check_digit(vin)}


def vin_model_years(*, vin: str, light_vehicle: bool, today: int) -> Answer:
    years = vins.model_years(vin, light_vehicle=light_vehicle, this_year=today)
    return {"years": years}


def low_pressure_threshold(*, placard_psi: float, tire: str) -> Answer:
    return {"psi": float(pressure.lamp_threshold(placard_psi, tire=tire, unit="psi"))}


def pressure_at_temperature(*, gauge_psi: float, from_f: float, to_f: float) -> Answer:
    kpa = pressure.pressure_at_temperature(
        units.kpa_exactly(gauge_psi, "psi"),
        from_c=units.celsius(from_f),
        to_c=units.celsius(to_f),
    )
    return {"psi": float(kpa / units.KPA_PER_PSI)}


def pressure_units(*, psi: float) -> Answer:
    kpa = units.kpa_exactly(psi, "psi")
    return {"kpa": float(kpa), "bar": float(kpa / units.kpa_exactly(1, "bar"))}


def gtin_check_digit(*, body: str) -> Answer:
    return {"check_digit": codes.gtin_check_digit(body)}


def snap_in_valve_allowed(*, rated_psi: float, placard_psi: float, top_speed_mph: float) -> Answer:
    limits = valves.snap_in_limits(
        rated_kpa=units.kpa_exactly(rated_psi, "psi"),
        placard_kpa=units.kpa_exactly(placard_psi, "psi"),
        top_speed_kmh=units.kilometres_per_hour(top_speed_mph),
    )
    return {"allowed": limits.allowed}


def same_band(*, a_mhz: float, b_mhz: float) -> Answer:
    return {"same": radio.same_band(a_mhz, b_mhz)}


def margin_and_markup(*, price: float, cost: float) -> Answer:
    answer = ratios.margin_and_markup(price=price, cost=cost)
    return {"margin": answer.margin, "markup": answer.markup}


def gmroi(*, gross_margin: float, mean_stock_at_cost: float) -> Answer:
    return {"gmroi": ratios.gmroi(gross_margin=gross_margin, mean_stock=mean_stock_at_cost)}


def stock_turns(*, cost_of_goods: float, mean_stock_at_cost: float) -> Answer:
    answer = ratios.stock_turns(cost_of_goods=cost_of_goods, mean_stock=mean_stock_at_cost)
    return {"turns": answer.turns, "days": answer.days}


KINDS = {
    kind.__name__: kind
    for kind in (
        vin_check_digit,
        vin_model_years,
        low_pressure_threshold,
        pressure_at_temperature,
        pressure_units,
        gtin_check_digit,
        snap_in_valve_allowed,
        same_band,
        margin_and_markup,
        gmroi,
        stock_turns,
    )
}
