"""Units: one table of data.

Inside fitcheck every quantity is held in one coherent system, so that a formula needs no
factors: millimetre, tonne, second, kelvin, degree of angle. Force is then the newton, stress
the megapascal, a spring rate newton per millimetre. Factors are exact fractions.

Sources: the inch, pound and standard gravity are exact by the 1959 international agreement
(NIST SP 811, App. B); inH2O is the conventional one, 1000 kg/m3 at standard gravity; hp is
550 ft lbf/s; PS is 75 kgf m/s. Every row is held against a kept units library in the tests.
"""

from __future__ import annotations

from fractions import Fraction as F

from fitcheck.source import frozen

# Exponents of length, mass, time, temperature, angle, money.
Dimension = tuple[F, ...]


def _dim(
    length: int = 0, mass: int = 0, time: int = 0, temp: int = 0, angle: int = 0, money: int = 0
) -> Dimension:
    return tuple(map(F, (length, mass, time, temp, angle, money)))


NUMBER = _dim()


@frozen
class Kind:
    """A kind of quantity: its dimension, and the unit and decimals each reader expects."""

    name: str
    dimension: Dimension
    inch: tuple[str, int]
    metric: tuple[str, int]

    def __repr__(self) -> str:
        return f"Kind({self.name})"


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("number", NUMBER, ("", 2), ("", 2)),
        Kind("count", NUMBER, ("", 0), ("", 0)),
        Kind("share", NUMBER, ("%", 1), ("%", 1)),
        Kind("length", _dim(1), ("in", 3), ("mm", 2)),
        Kind("roughness", _dim(1), ("uin", 0), ("um", 2)),
        Kind("area", _dim(2), ("in2", 3), ("cm2", 2)),
        Kind("volume", _dim(3), ("cc", 1), ("cc", 1)),
        Kind("displacement", _dim(3), ("in3", 1), ("cc", 0)),
        Kind("angle", _dim(angle=1), ("deg", 1), ("deg", 1)),
        Kind("lift_per_angle", _dim(1, angle=-1), ("in/deg", 5), ("mm/deg", 4)),
        Kind("mass", _dim(mass=1), ("g", 1), ("g", 1)),
        Kind("density", _dim(-3, 1), ("g/cc", 3), ("g/cc", 3)),
        Kind("time", _dim(time=1), ("h", 2), ("h", 2)),
        Kind("speed", _dim(1, time=-1), ("ft/min", 0), ("m/s", 1)),
        Kind("frequency", _dim(time=-1), ("rpm", 0), ("rpm", 0)),
        Kind("force", _dim(1, 1, -2), ("lbf", 0), ("N", 0)),
        Kind("rate", _dim(0, 1, -2), ("lbf/in", 0), ("N/mm", 1)),
        Kind("stress", _dim(-1, 1, -2), ("ksi", 1), ("MPa", 0)),
        Kind("pressure", _dim(-1, 1, -2), ("psi", 1), ("bar", 2)),
        Kind("depression", _dim(-1, 1, -2), ("inH2O", 1), ("kPa", 2)),
        Kind("torque", _dim(2, 1, -2), ("lbf ft", 0), ("N m", 0)),
        Kind("power", _dim(2, 1, -3), ("hp", 0), ("kW", 0)),
        Kind("flow", _dim(3, time=-1), ("cfm", 0), ("L/s", 1)),
        Kind("temperature", _dim(temp=1), ("degF", 0), ("degC", 0)),
        Kind("temperature_rise", _dim(temp=1), ("degF", 0), ("K", 0)),
        Kind("expansion", _dim(temp=-1), ("um/m/K", 1), ("um/m/K", 1)),
        Kind("money", _dim(money=1), ("money", 0), ("money", 0)),
    )
}

_IN = F(254, 10)
_LBF = F("4.4482216152605")
_LB = F("0.45359237") / 1000
_KGF = F("9.80665")
_FT = 12 * _IN
_PSI = _LBF / _IN**2


_CUBIC_INCHES = ("cu in", "cu.in", "in^3", "cubic inches", "cubic inch")


@frozen
class Unit:
    """One unit of one kind: value in base units = (number + offset) * factor."""

    name: str
    kind: str
    factor: F
    offset: F = F(0)
    also: tuple[str, ...] = ()


def _torque(name: str, *lengths: str) -> tuple[str, ...]:
    """What a torque in pounds at a length is called but by its name: ft lb, ft-lbs, pound-feet."""
    pounds = ("lb", "lbs", "lbf", "pound", "pounds")
    pairs = [(pound, length) for pound in pounds for length in lengths]
    both = (*pairs, *(pair[::-1] for pair in pairs))
    names = (f"{one}{mark}{other}" for one, other in both for mark in " -.")
    return tuple(one for one in names if one != name)


UNITS: tuple[Unit, ...] = (
    Unit("", "number", F(1), also=(":1", ": 1", "to 1")),
    Unit("", "count", F(1)),
    Unit("ppm", "number", F(1, 10**6)),
    Unit("%", "share", F(1, 100), also=("percent", "pct")),
    Unit("in", "length", _IN, also=('"', "inch", "inches", "″", "''")),
    Unit("mm", "length", F(1)),
    Unit("thou", "length", _IN / 1000, also=("thousandths", "thousandth")),
    Unit("cm", "length", F(10)),
    Unit("m", "length", F(1000)),
    Unit("ft", "length", _FT),
    Unit("um", "length", F(1, 1000), also=("µm", "μm")),
    Unit("uin", "roughness", _IN / 10**6, also=("µin", "μin", "microinch")),
    Unit("um", "roughness", F(1, 1000), also=("µm", "μm")),
    Unit("in2", "area", _IN**2, also=("sq in", "in^2")),
    Unit("mm2", "area", F(1), also=("mm^2",)),
    Unit("cm2", "area", F(100), also=("cm^2",)),
    Unit("cc", "volume", F(1000), also=("cm3", "ml", "mL", "cm^3")),
    Unit("in3", "volume", _IN**3, also=_CUBIC_INCHES),
    Unit("mm3", "volume", F(1)),
    Unit("L", "volume", F(10**6), also=("l",)),
    Unit("cc", "displacement", F(1000), also=("cm3", "cm^3")),
    Unit("in3", "displacement", _IN**3, also=(*_CUBIC_INCHES, "ci", "cid", "cui")),
    Unit("L", "displacement", F(10**6), also=("l",)),
    Unit("deg", "angle", F(1), also=("°", "degrees", "degree", "degs", "º")),
    Unit("in/deg", "lift_per_angle", _IN),
    Unit("thou/deg", "lift_per_angle", _IN / 1000),
    Unit("mm/deg", "lift_per_angle", F(1)),
    Unit("g", "mass", F(1, 10**6)),
    Unit("kg", "mass", F(1, 1000)),
    Unit("oz", "mass", _LB / 16),
    Unit("lb", "mass", _LB),
    Unit("g/cc", "density", F(1, 10**9), also=("g/cm3",)),
    Unit("kg/m3", "density", F(1, 10**12)),
    Unit("h", "time", F(3600), also=("hour", "hours")),
    Unit("min", "time", F(60), also=("minute", "minutes")),
    Unit("s", "time", F(1)),
    Unit("ft/min", "speed", _FT / 60),
    Unit("ft/s", "speed", _FT),
    Unit("m/s", "speed", F(1000)),
    Unit("rpm", "frequency", F(1, 60), also=("1/min", "rev/min", "revs")),
    Unit("Hz", "frequency", F(1)),
    Unit("lbf", "force", _LBF, also=("lb", "lbs", "pound", "pounds", "#")),
    Unit("N", "force", F(1)),
    Unit("kgf", "force", _KGF, also=("kg", "kp")),
    Unit(
        "lbf/in",
        "rate",
        _LBF / _IN,
        also=(
            "lb/in",
            "lbs/in",
            "#/in",
            "lb per in",
            "lbs per in",
            "lb per inch",
            "lbs per inch",
            "pounds per inch",
            "lb/inch",
            "lbs/inch",
        ),
    ),
    Unit("N/mm", "rate", F(1)),
    Unit("kgf/mm", "rate", _KGF, also=("kg/mm", "kp/mm")),
    Unit("ksi", "stress", 1000 * _PSI),
    Unit("psi", "stress", _PSI),
    Unit("MPa", "stress", F(1), also=("N/mm2",)),
    Unit("GPa", "stress", F(1000)),
    Unit("psi", "pressure", _PSI),
    Unit("bar", "pressure", F(1, 10)),
    Unit("kPa", "pressure", F(1, 1000)),
    Unit("MPa", "pressure", F(1)),
    Unit("mbar", "pressure", F(1, 10**4), also=("hPa",)),
    Unit("inH2O", "depression", F("249.08891") / 10**6, also=("in H2O",)),
    Unit("kPa", "depression", F(1, 1000)),
    Unit("mbar", "depression", F(1, 10**4), also=("hPa",)),
    Unit("lbf ft", "torque", _LBF * _FT, also=_torque("lbf ft", "ft", "foot", "feet")),
    Unit("lbf in", "torque", _LBF * _IN, also=_torque("lbf in", "in", "inch", "inches")),
    Unit("N m", "torque", F(1000), also=("Nm",)),
    Unit("hp", "power", 550 * _FT * _LBF, also=("bhp",)),
    Unit("kW", "power", F(10**6)),
    Unit("PS", "power", 75 * _KGF * 1000),
    Unit("cfm", "flow", _FT**3 / 60, also=("ft3/min",)),
    Unit("L/s", "flow", F(10**6), also=("l/s",)),
    Unit("m3/h", "flow", F(10**9, 3600)),
    Unit("m3/min", "flow", F(10**9, 60)),
    Unit("degF", "temperature", F(5, 9), F("459.67"), also=("°F", "F")),
    Unit("degC", "temperature", F(1), F("273.15"), also=("°C", "C")),
    Unit("K", "temperature", F(1)),
    Unit("degF", "temperature_rise", F(5, 9), also=("°F", "F")),
    Unit("K", "temperature_rise", F(1), also=("degC", "°C", "C")),
    Unit("um/m/K", "expansion", F(1, 10**6), also=("1e-6/K", "ppm/K", "µm/m/K")),
    Unit("money", "money", F(1)),
)

_BY_NAME: dict[tuple[str, str], Unit] = {
    (name, unit.kind): unit for unit in UNITS for name in (unit.name, *unit.also)
}


def _in_any_case() -> dict[tuple[str, str], Unit]:
    """Units by their names in small letters, but where two of a kind differ by capitals alone."""
    found: dict[tuple[str, str], set[Unit]] = {}
    for (name, kind), unit in _BY_NAME.items():
        found.setdefault((name.casefold(), kind), set()).add(unit)
    return {key: next(iter(units)) for key, units in found.items() if len(units) == 1}


_IN_ANY_CASE = _in_any_case()


def find_unit(name: str, kind: Kind) -> Unit | None:
    """The unit a reader means by `name` where a quantity of `kind` is expected.

    >>> find_unit("lb", KINDS["force"]).name, find_unit("lb", KINDS["mass"]).name
    ('lbf', 'lb')
    """
    found = _BY_NAME.get((name, kind.name)) or _IN_ANY_CASE.get((name.casefold(), kind.name))
    if found is None and kind.name == "share":
        found = _BY_NAME.get((name, "number"))
    return found


def in_unit(value: F, name: str, kind: Kind) -> float:
    """A value as a number of a unit.

    >>> in_unit(F("25.4"), "in", KINDS["length"])
    1.0
    """
    unit = find_unit(name, kind)
    if unit is None:
        raise ValueError(f"'{name}' is no unit of {kind.name}")
    return float(value / unit.factor - unit.offset)


def unit_names(kind: Kind) -> list[str]:
    """The names of the units that `kind` is written in, the preferred ones first."""
    own = [unit.name for unit in UNITS if unit.kind == kind.name and unit.name]
    first = [name for name in (kind.inch[0], kind.metric[0]) if name in own]
    return list(dict.fromkeys(first + own))


def kinds_of_unit(name: str) -> list[str]:
    """The kinds that a unit of this name exists for; empty for an unknown name."""
    return [kind for unit, kind in _BY_NAME if unit == name]
