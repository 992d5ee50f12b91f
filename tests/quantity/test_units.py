"""Every row of the table of units against pint, a kept units library."""

from fractions import Fraction

import pint
import pytest

from fitcheck.quantity import KINDS, read_quantity
from fitcheck.quantity.units import UNITS, find_unit, kinds_of_unit, unit_names

PINT = pint.UnitRegistry(non_int_type=Fraction)

# Our system, in which a formula needs no factors, written in pint's units.
BASE = {
    "number": "1",
    "count": "1",
    "share": "1",
    "length": "mm",
    "roughness": "mm",
    "area": "mm**2",
    "volume": "mm**3",
    "displacement": "mm**3",
    "angle": "degree",
    "lift_per_angle": "mm/degree",
    "mass": "tonne",
    "density": "tonne/mm**3",
    "time": "s",
    "speed": "mm/s",
    "frequency": "1/s",
    "force": "N",
    "rate": "N/mm",
    "stress": "N/mm**2",
    "pressure": "N/mm**2",
    "depression": "N/mm**2",
    "torque": "N*mm",
    "power": "N*mm/s",
    "flow": "mm**3/s",
    "temperature": "kelvin",
    "temperature_rise": "kelvin",
    "expansion": "1/kelvin",
}

# Units that pint spells otherwise, or lacks and that are built from its own.
SPELT = {
    "": "1",
    "ppm": "1e-6",
    "%": "1/100",
    "uin": "microinch",
    "thou": "inch/1000",
    "in": "inch",
    "in2": "inch**2",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "cc": "cm**3",
    "in3": "inch**3",
    "mm3": "mm**3",
    "deg": "degree",
    "in/deg": "inch/degree",
    "thou/deg": "inch/1000/degree",
    "mm/deg": "mm/degree",
    "g/cc": "g/cm**3",
    "kg/m3": "kg/m**3",
    "min": "minute",
    "h": "hour",
    "rpm": "1/minute",  # turns: a radian is no part of our frequency
    "Hz": "1/s",
    "kgf": "kilogram_force",
    "lbf": "pound_force",
    "lbf/in": "pound_force/inch",
    "kgf/mm": "kilogram_force/mm",
    "ksi": "kip/inch**2",
    # The conventional inch of water: 1000 kg/m3 at standard gravity.
    "inH2O": "inch * 1000 * kg/m**3 * standard_gravity",
    "lbf ft": "pound_force*foot",
    "lbf in": "pound_force*inch",
    "N m": "newton*meter",
    "hp": "550*foot*pound_force/s",
    "PS": "75*kilogram_force*meter/s",
    "cfm": "foot**3/minute",
    "L/s": "liter/s",
    "m3/h": "meter**3/hour",
    "m3/min": "meter**3/minute",
    "um/m/K": "um/m/kelvin",
}
IN_PINT = [unit for unit in UNITS if unit.kind != "money"]


def named(unit):
    return f"{unit.name or '(none)'} of {unit.kind}"


@pytest.mark.parametrize("unit", [u for u in IN_PINT if u.kind != "temperature"], ids=named)
def test_a_factor_is_pints(unit):
    as_rise = {"degF": "delta_degF", "K": "kelvin"} if unit.kind == "temperature_rise" else {}
    spelt = as_rise.get(unit.name) or SPELT.get(unit.name, unit.name)
    one = PINT.Quantity(Fraction(1), "") * PINT.parse_expression(spelt)
    assert one.to(BASE[unit.kind]).magnitude == unit.factor  # both are exact fractions


@pytest.mark.parametrize("name", ["degF", "degC", "K"])
@pytest.mark.parametrize("degrees", [-40, 0, 32, 100, 212, 1000])
def test_a_temperature_is_pints(name, degrees):
    unit = find_unit(name, KINDS["temperature"])
    ours = (degrees + unit.offset) * unit.factor
    theirs = PINT.Quantity(Fraction(degrees), {"K": "kelvin"}.get(name, name)).to("kelvin")
    assert float(ours) == pytest.approx(float(theirs.magnitude), rel=1e-14)


@pytest.mark.parametrize("name", ["hp", "PS"])
def test_powers_are_also_pints_own_by_name(name):
    own = {"hp": "horsepower", "PS": "metric_horsepower"}[name]
    watts = PINT.Quantity(1, own).to("watt").magnitude
    assert float(watts) == pytest.approx(float(find_unit(name, KINDS["power"]).factor) / 1000)


def test_money_is_counted_in_one_currency_without_a_name():
    assert [unit.name for unit in UNITS if unit.kind == "money"] == ["money"]


@pytest.mark.parametrize("unit", UNITS, ids=named)
def test_every_name_of_a_unit_can_be_read(unit):
    for name in (unit.name, *unit.also):
        for text in (f"3 {name}", f"3{name}" if name[:1].isalpha() else f"3 {name}"):
            read = read_quantity(f"{text} +-1", KINDS[unit.kind])
            assert read.lower == (2 + unit.offset) * unit.factor, text
            assert read.upper == (4 + unit.offset) * unit.factor, text


def test_a_name_means_one_unit_of_a_kind():
    names = [(name, unit.kind) for unit in UNITS for name in (unit.name, *unit.also)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("kind", KINDS.values(), ids=str)
def test_what_a_reader_expects_exists(kind):
    for name, decimals in (kind.inch, kind.metric):
        assert find_unit(name, kind) is not None
        assert 0 <= decimals <= 5
    if kind.inch[0]:  # and is offered first
        assert unit_names(kind)[0] == kind.inch[0]


def test_a_pound_is_a_force_or_a_mass_by_what_is_wanted():
    assert find_unit("lb", KINDS["force"]).name == "lbf"
    assert find_unit("lb", KINDS["mass"]).name == "lb"


def test_kinds_that_have_a_unit():
    assert kinds_of_unit("psi") == ["stress", "pressure"]
    assert kinds_of_unit("furlong") == []
