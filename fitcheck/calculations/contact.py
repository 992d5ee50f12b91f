"""Hertzian contact: lobe on lifter, rocker on valve tip, ball in cup."""

from __future__ import annotations

from math import cbrt, pi, sqrt

from fitcheck.calculations.registry import calculation


@calculation(
    modulus="GPa + 10..700",
    poisson="number + 0..0.49",
    other_modulus="GPa + 10..700",
    other_poisson="number + 0..0.49",
    gives="GPa",
)
def contact_modulus(
    modulus: float, poisson: float, other_modulus: float, other_poisson: float
) -> float:
    """Contact modulus of two materials, `1/E* = (1-v1^2)/E1 + (1-v2^2)/E2`.

    Parameters
    ----------
    modulus : float
        Young's modulus of one body, [GPa]
    poisson : float
        Poisson's ratio of that body, [number]
    other_modulus : float
        Young's modulus of the other body, [GPa]
    other_poisson : float
        Poisson's ratio of the other body, [number]

    Returns
    -------
    modulus : float
        Contact modulus, [GPa]

    Notes
    -----
    Assumes isotropic elastic bodies. Johnson, Contact Mechanics, ch 4.

    Examples
    --------
    Steel on steel, 200 GPa and 0.29:

    >>> round(contact_modulus(200, 0.29, 200, 0.29), 2)
    109.18
    """
    return 1 / ((1 - poisson**2) / modulus + (1 - other_poisson**2) / other_modulus)


@calculation(radius="mm + 0.1..1e7", other_radius="mm + 0.1..1e7", gives="mm")
def relative_radius(radius: float, other_radius: float) -> float:
    """Relative radius of two convex surfaces, `1/R = 1/R1 + 1/R2`.

    Parameters
    ----------
    radius : float
        Radius of one surface, [mm]
    other_radius : float
        Radius of the other surface in the same plane; very large for a flat one, [mm]

    Returns
    -------
    radius : float
        Radius of the cylinder that touches a flat in the same way, [mm]

    Notes
    -----
    Assumes that both surfaces bulge towards each other. Johnson, Contact Mechanics, ch 4.

    Examples
    --------
    Two discs of 40 mm radius:

    >>> relative_radius(40, 40)
    20.0
    """
    return 1 / (1 / radius + 1 / other_radius)


@calculation(
    force="N + 0..50000",
    length="mm - 1..200",
    radius="mm - 0.1..1e6",
    modulus="GPa + 5..400",
    gives="MPa",
)
def line_contact_pressure(force: float, length: float, radius: float, modulus: float) -> float:
    """Peak pressure of a cylinder on a flat or another cylinder, `sqrt(F E* / (pi L R))`.

    Parameters
    ----------
    force : float
        Force between the bodies, [N]
    length : float
        Length of the line of contact, [mm]
    radius : float
        Relative radius, [mm]
    modulus : float
        Contact modulus, [GPa]

    Returns
    -------
    pressure : float
        Peak pressure, [MPa]

    Notes
    -----
    `2 F / (pi a L)` with the half width `a`. The greatest shear stress is 0.300 of it and lies
    0.786 a below the surface. Assumes elastic bodies, parallel axes, even load along the line, no
    friction and a strip that is narrow against the radius; a lobe that is tapered under a crowned
    foot touches in an ellipse instead. Johnson, Contact Mechanics, ch 4.

    Examples
    --------
    Two steel discs of 40 mm radius and 20 mm width under 24.1 kN (the case of Boresi & Schmidt,
    Advanced Mechanics of Materials, Ex 17.3, whose rounded steps end at 1445):

    >>> round(line_contact_pressure(24100, 20, 20, contact_modulus(200, 0.29, 200, 0.29)))
    1447
    """
    return sqrt(force * modulus * 1000 / (pi * length * radius))


def _legendre(slenderness: float) -> tuple[float, float]:
    """`B` and `D` of Jahnke and Emde, `K = B + D`, for the modulus of that ellipse.

    By the arithmetic-geometric mean; written so that nothing cancels at a circle.
    """
    mean, other = 1.0, 1 / slenderness
    first = half_gap = (mean - other) / 2
    # Terms 2^(n-1) c_n^2 over e^2; the zeroth is 1/2.
    share, weight, total = (1 - other) / (4 * (1 + other)), 1.0, 0.5
    # The next gap is the square of this one; near a circle rounding keeps it from reaching 0.
    while half_gap > max(1e-9 * first, 1e-16):
        total += weight * share * (half_gap / first) ** 2
        mean, other = (mean + other) / 2, sqrt(mean * other)
        half_gap, weight = (mean - other) / 2, weight * 2
    complete = pi / (mean + other)
    return complete * (1 - total), complete * total


def _slenderness(ratio: float) -> tuple[float, float]:
    """Long over short semi-axis of the ellipse for a ratio of radii >= 1, and its `D`."""
    low, high = 1.0, max(2.0, ratio)
    for _ in range(80):
        middle = sqrt(low * high)
        b, d = _legendre(middle)
        if middle * middle * b < ratio * d:
            low = middle
        else:
            high = middle
    middle = sqrt(low * high)
    return middle, _legendre(middle)[1]


@calculation(
    force="N + 0..50000",
    radius="mm - 0.1..1e5",
    other_radius="mm - 0.1..1e5",
    modulus="GPa + 5..400",
    gives="MPa",
)
def elliptical_contact_pressure(
    force: float, radius: float, other_radius: float, modulus: float
) -> float:
    """Peak pressure where two crowned surfaces touch in an ellipse, `3 F / (2 pi a b)`.

    Parameters
    ----------
    force : float
        Force between the bodies, [N]
    radius : float
        Relative radius in one principal plane, [mm]
    other_radius : float
        Relative radius in the plane square to it; the same for a ball, [mm]
    modulus : float
        Contact modulus, [GPa]

    Returns
    -------
    pressure : float
        Peak pressure, [MPa]

    Notes
    -----
    Hertz's solution with complete elliptic integrals (Johnson, Contact Mechanics, ch 4). A
    crowned foot on a lobe has the lobe's radius and the crown in the plane of rotation, and the
    crown alone in the plane of the camshaft. Assumes elastic bodies, no friction and an ellipse
    that stays on the foot and on the lobe; where it would be longer than the lobe is wide the
    contact is a line. Pressure falls as either radius grows: with one radius fixed it is a
    function of their ratio alone, checked on a grid over the whole range.

    Examples
    --------
    A steel ball of 25 mm on an aluminium ball of 40 mm under 10 N (Shigley, 9th ed, Prob 3-138,
    answer from memory 487 MPa):

    >>> soft = contact_modulus(207, 0.292, 71.7, 0.333)
    >>> both = relative_radius(12.5, 20)
    >>> round(elliptical_contact_pressure(10, both, both, soft))
    487
    """
    small, large = sorted((radius, other_radius))
    slenderness, d = _slenderness(large / small)
    # a^3 = stretch F
    stretch = 3 * large * d / (pi * modulus * 1000)
    return 3 * slenderness / (2 * pi) * cbrt(force / stretch**2)
