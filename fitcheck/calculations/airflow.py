"""Areas, gas speeds and air demand of an intake."""

from __future__ import annotations

from math import pi

from fitcheck.calculations.registry import calculation


@calculation(valve_diameter="mm + 5..120", lift="mm + 0..40", gives="mm2")
def valve_curtain_area(valve_diameter: float, lift: float) -> float:
    """Area of the cylinder between the valve's rim and its seat, `pi D L`.

    Parameters
    ----------
    valve_diameter : float
        Valve head diameter, [mm]
    lift : float
        Valve lift, [mm]

    Returns
    -------
    area : float
        Curtain area, [mm2]

    Notes
    -----
    Geometry; leaves the seat angle out. Equals the circle of the head at a lift of a quarter of
    the diameter.

    Examples
    --------
    A 50 mm valve at a quarter of its diameter has the area of its own circle:

    >>> round(valve_curtain_area(50, 12.5), 1), round(pi / 4 * 50**2, 1)
    (1963.5, 1963.5)
    """
    return pi * valve_diameter * lift


@calculation(throat_diameter="mm + 5..120", stem_diameter="mm - 0..20", gives="mm2")
def throat_area(throat_diameter: float, stem_diameter: float) -> float:
    """Area of the throat less the stem, `pi/4 (dt^2 - ds^2)`.

    Parameters
    ----------
    throat_diameter : float
        Smallest diameter under the seat, [mm]
    stem_diameter : float
        Valve stem diameter, [mm]

    Returns
    -------
    area : float
        Open throat area, never below nothing, [mm2]

    Notes
    -----
    Geometry of a round throat.

    Examples
    --------
    >>> round(throat_area(44, 8), 1)
    1470.3
    """
    return pi / 4 * max(0.0, throat_diameter**2 - stem_diameter**2)


@calculation(
    bore="mm + 20..250",
    stroke="mm + 10..300",
    speed="rpm + 0..20000",
    port_area="mm2 - 50..20000",
    gives="m/s",
)
def mean_port_velocity(bore: float, stroke: float, speed: float, port_area: float) -> float:
    """Mean gas speed in a port while the piston draws, piston speed times the ratio of areas.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    stroke : float
        Stroke, [mm]
    speed : float
        Engine speed, [rpm]
    port_area : float
        Cross-section of the port, of all ports that feed the cylinder, [mm2]

    Returns
    -------
    velocity : float
        Mean gas speed, [m/s]

    Notes
    -----
    Continuity with constant density over the stroke; assumes the port flows only while the
    piston moves down. The real peak is well above.

    Examples
    --------
    A port of a tenth of the piston's area carries ten times the mean piston speed of 15 m/s:

    >>> round(mean_port_velocity(100, 90, 5000, pi * 100**2 / 40), 1)
    150.0
    """
    return 2 * stroke / 1000 * speed / 60 * (pi / 4 * bore**2) / port_area


@calculation(
    bore="mm + 20..250",
    stroke="mm + 10..300",
    speed="rpm + 0..20000",
    valve_diameter="mm - 5..120",
    flow_coefficient="number - 0.1..1",
    sound_speed="m/s - 250..500",
    gives="number",
)
def inlet_mach_index(
    bore: float,
    stroke: float,
    speed: float,
    valve_diameter: float,
    flow_coefficient: float,
    sound_speed: float,
) -> float:
    """Inlet Mach index, `Z = (B/Dv)^2 Up / (Ci a)`.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    stroke : float
        Stroke, [mm]
    speed : float
        Engine speed, [rpm]
    valve_diameter : float
        Intake valve head diameter, [mm]
    flow_coefficient : float
        Mean inlet flow coefficient, on the area of the valve head, over the opening, [number]
    sound_speed : float
        Speed of sound at the inlet, [m/s]

    Returns
    -------
    index : float
        Inlet Mach index, [number]

    Notes
    -----
    Assumes one intake valve and a coefficient on the circle of its head. Volumetric efficiency
    falls past about 0.5 (JSME dictionary of mechanical engineering), 0.55 (Rajput) or 0.6
    (Taylor, from memory): a band, not a wall.

    Examples
    --------
    110 x 140 mm, 2400 rpm, 44.95 mm valve, 0.33 (Rajput, IC Engines, Ex 7.12, prints 0.55):

    >>> round(inlet_mach_index(110, 140, 2400, 44.95, 0.33, 369.611), 2)
    0.55
    """
    piston_speed = 2 * stroke / 1000 * speed / 60
    return (bore / valve_diameter) ** 2 * piston_speed / (flow_coefficient * sound_speed)


@calculation(
    displacement="L + 0.02..30",
    speed="rpm + 0..20000",
    volumetric_efficiency="number + 0..2",
    gives="L/s",
)
def air_demand(displacement: float, speed: float, volumetric_efficiency: float) -> float:
    """Air that a four-stroke engine draws, `Vd N/2` times its volumetric efficiency.

    Parameters
    ----------
    displacement : float
        Swept volume of all cylinders, [L]
    speed : float
        Engine speed, [rpm]
    volumetric_efficiency : float
        Share of the swept volume filled, [number]

    Returns
    -------
    flow : float
        Mean volume flow at the state that the efficiency is referred to, [L/s]

    Notes
    -----
    Definition of the volumetric efficiency. A mean over the cycle: one cylinder draws in pulses.

    Examples
    --------
    4066 cm3 at 3600 rpm filled to 0.85 (Rajput, IC Engines, Ex 7.2), in m3/min:

    >>> round(air_demand(4.066, 3600, 0.85) * 0.06, 2)
    6.22
    """
    return displacement * speed / 120 * volumetric_efficiency


@calculation(
    power="kW + 0..3000",
    fuel_per_kwh="g + 100..1000",
    air_fuel_ratio="number + 5..40",
    air_density="kg/m3 - 0.5..2",
    gives="L/s",
)
def required_air_flow(
    power: float, fuel_per_kwh: float, air_fuel_ratio: float, air_density: float
) -> float:
    """Air that a power target burns, power times specific consumption times air-fuel ratio.

    Parameters
    ----------
    power : float
        Brake power, [kW]
    fuel_per_kwh : float
        Fuel burnt for one kilowatt hour at the crankshaft, [g]
    air_fuel_ratio : float
        Mass of air for a mass of fuel, [number]
    air_density : float
        Density of the air drawn, [kg/m3]

    Returns
    -------
    flow : float
        Mean volume flow at that density, [L/s]

    Notes
    -----
    Mass balance. The consumption is the brake specific one: 0.5 lb/(hp h) is 304 g/kWh.

    Examples
    --------
    86 kW, 0.38 kg/kWh, 14:1 at 1.013 bar and 288 K (Rajput, IC Engines, Ex 7.2), in m3/min:

    >>> round(required_air_flow(86, 380, 14, 101300 / (287 * 288)) * 0.06, 2)
    6.22
    """
    return power * fuel_per_kwh * air_fuel_ratio / 3600 / air_density
