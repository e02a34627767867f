"""Closed forms of one solder joint: tab, relief, vias, barrel, contact with the tip. All SI."""

import math


def disc_radius(area: float) -> float:
    """Return the radius [m] of the disc with `area` [m2].

    >>> round(disc_radius(math.pi), 6)
    1.0
    """
    return math.sqrt(area / math.pi)


def tab_resistance(length: float, width: float, sheet: float, tip_width: float, height: float) -> float:
    """Return the resistance [K/W] from a tip on the narrow edge of a tab to the tab's mean temperature.

    A fin that gives its heat evenly to the land, `L / (3 K W)`, and the narrowing to the tip,
    `ln(1 / sin(pi w / 2 W)) / (pi K)`; length L, width W, tip width w [m]; K [W/K] is the sum of conductivity times
    thickness of tab, solder and land. `height` [m] is the tab's thickness: a tip covers no more than its edge.
    Valid for w < W and L up to about 2 W. Source: derived; the narrowing term as for a slit in a conducting strip.

    >>> round(tab_resistance(7.55e-3, 10e-3, 350 * 1.27e-3, 2.4e-3, 1.27e-3), 3)
    1.282
    """
    covered = min(max(tip_width, height), 0.95 * width)
    return length / (3.0 * sheet * width) + math.log(1.0 / math.sin(math.pi * covered / (2.0 * width))) / (
        math.pi * sheet
    )


def relief_resistance(spokes: int, width: float, gap: float, plane_radius: float, sheet: float) -> float:
    """Return the resistance [K/W] of a thermal relief: n spokes and the narrowing of the plane towards each.

    `gap / (n w K) + ln(1 / sin(n w / (4 r))) / (n pi K)`; width w, gap, plane_radius r [m], K [W/K] sheet
    conductance k t. Valid for n w < pi r. Source: derived; within 1 % of two-dimensional finite elements.

    >>> round(relief_resistance(4, 0.3e-3, 0.25e-3, 1.1e-3, 385 * 35e-6), 1)
    23.2
    """
    share = min(spokes * width / (4.0 * plane_radius), math.pi / 2)
    return gap / (spokes * width * sheet) + math.log(1.0 / math.sin(share)) / (spokes * math.pi * sheet)


def land_resistance(hole_radius: float, land_radius: float, sheet: float) -> float:
    """Return the resistance [K/W] from a tip that wets a whole land to the hole in its middle.

    Heat enters evenly over the disc and leaves by the hole: `[ln(b/a) - (1 - a2/b2) + (1 - a4/b4) / 4] / (2 pi K)`;
    hole radius a, land radius b [m], K [W/K] the conductivity times thickness of land and solder fillet.
    Valid where no plane takes heat from the rim of the land. Source: derived.

    >>> round(land_resistance(0.55e-3, 1.0e-3, 385 * 34.8e-6 + 55 * 0.25e-3), 2)
    0.75
    """
    inner = min((hole_radius / land_radius) ** 2, 1.0)
    return (-math.log(inner) / 2.0 - (1.0 - inner) + (1.0 - inner * inner) / 4.0) / (2.0 * math.pi * sheet)


def barrel_section(hole: float, plating: float) -> float:
    """Return the copper section [m2] of a plated hole of finished diameter `hole` [m] and wall `plating` [m].

    >>> round(barrel_section(1e-3, 25e-6) * 1e6, 4)
    0.0805
    """
    return math.pi * plating * (hole + plating)


def melting_capacity(mass: float, specific_heat: float, latent_heat: float, rise: float) -> float:
    """Return the heat capacity [J/K] of solder with its latent heat spread evenly over the rise: m (c + L / rise).

    Mass m [kg], specific heat c [J/kgK], latent heat L [J/kg], rise [K]. An approximation: small joints come out up
    to 10 % slow, by milliseconds.

    >>> round(melting_capacity(1e-5, 220.0, 60e3, 235.0), 5)
    0.00475
    """
    return mass * (specific_heat + latent_heat / rise)


def series(*conductances: float) -> float:
    """Return the conductance [W/K] of conductances in series.

    >>> series(2.0, 2.0)
    1.0
    """
    return 1.0 / sum(1.0 / g for g in conductances)
