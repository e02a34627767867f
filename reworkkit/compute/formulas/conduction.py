"""Closed forms of heat conduction. Numbers or numpy arrays in, the same out; all SI."""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def lumped_temperature(start: float, surroundings: float, time_constant: float, time: float) -> float:
    """Return the temperature [C] of a body without inner gradients.

    `surroundings + (start - surroundings) exp(-time / time_constant)`; temperatures [C], times [s]. Valid for a
    Biot number below 0.1. Source: Incropera 6e, eq. 5.6.

    >>> round(lumped_temperature(25.0, 200.0, 1.0, 5.1648), 2)
    199.0
    """
    return surroundings + (start - surroundings) * math.exp(-time / time_constant)


def lumped_conductance(heat_capacity: float, start: float, source: float, reached: float, time: float) -> float:
    """Return the conductance [W/K] through which a source heated a body from `start` to `reached` in `time` [s].

    `C ln((source - start) / (source - reached)) / time`, C [J/K], temperatures [C]; the inverse of the lumped
    exponential, valid for start < reached < source. Source: Incropera 6e, eq. 5.5.

    >>> round(lumped_conductance(1.38, 25.0, 350.0, 183.0, 4.6), 3)
    0.2
    """
    return heat_capacity * math.log((source - start) / (source - reached)) / time


def disc_on_half_space(radius: float, conductivity: float) -> float:
    """Return the resistance [K/W] of a disc at one temperature on a half space: 1 / (4 a k).

    Radius a [m], conductivity k [W/mK]. Source: Carslaw & Jaeger, 2nd ed., 8.2 (from memory).

    >>> round(disc_on_half_space(0.001, 0.25), 1)
    1000.0
    """
    return 1.0 / (4.0 * radius * conductivity)


def circle_inside(radius: Any, edge: Any, second_edge: Any) -> Any:
    """Return the fraction of a circle's circumference that lies within two straight edges at right angles.

    Distances [m] from the centre; an edge farther than the radius cuts nothing. Derived from the two arcs
    `2 acos(e/r)` and their overlap `acos(e1/r) + acos(e2/r) - pi/2`.

    >>> float(circle_inside(2.0, 1.0, 9.0)), float(circle_inside(2.0, 0.0, 0.0))
    (0.6666666666666667, 0.25)
    """
    first, second = np.arccos(np.minimum(edge / radius, 1.0)), np.arccos(np.minimum(second_edge / radius, 1.0))
    both = np.maximum(first + second - math.pi / 2, 0.0)
    return 1.0 - (2.0 * first + 2.0 * second - both) / (2.0 * math.pi)


def circle_area_inside(radius: Any, edge: Any, second_edge: Any) -> Any:
    """Return the area [m2] of a circle that lies within two straight edges at right angles, distances [m].

    Circle less two segments plus the corner they share. Derived.

    >>> round(float(circle_area_inside(2.0, 0.0, 0.0)), 4), round(float(circle_area_inside(1.0, 5.0, 5.0)), 4)
    (3.1416, 3.1416)
    """
    e1, e2 = np.minimum(edge, radius), np.minimum(second_edge, radius)
    a1, a2 = np.arccos(e1 / radius), np.arccos(e2 / radius)
    h1, h2 = e1 * np.sqrt(radius**2 - e1**2), e2 * np.sqrt(radius**2 - e2**2)
    corner = np.where(e1**2 + e2**2 < radius**2, (radius**2 * (a1 + a2 - math.pi / 2) - h1 - h2) / 2 + e1 * e2, 0.0)
    return math.pi * radius**2 - (radius**2 * a1 - h1) - (radius**2 * a2 - h2) + corner


def radius_for_area(area: Any, edge: Any, second_edge: Any) -> Any:
    """Return the radius [m] at which a circle cut by two edges has `area` [m2]; 40 halvings, for any centre inside.

    >>> round(float(radius_for_area(3.14159265, 9.0, 9.0)), 6), round(float(radius_for_area(3.14159265, 0.0, 0.0)), 6)
    (1.0, 2.0)
    """
    low = np.sqrt(np.asarray(area) / math.pi)
    high = 4.0 * low
    for _ in range(40):
        middle = (low + high) / 2
        small = circle_area_inside(middle, edge, second_edge) < area
        low, high = np.where(small, middle, low), np.where(small, high, middle)
    return (low + high) / 2


def contour(time: float, points: int = 12) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """Return nodes s [1/s] and weights of the fixed Talbot inversion: f(time) = sum Re(weight * F(s)).

    Valid for smooth responses of a body at rest with time > 0 [s]; 12 points give seven digits.
    Source: Abate & Valko, Int. J. Numer. Meth. Engng 60 (2004) 979.

    >>> s, w = contour(2.0)
    >>> round(float(np.sum(w / (s + 1.0)).real), 6) == round(math.exp(-2.0), 6)
    True
    """
    scale = 2.0 * points / (5.0 * time)
    angle = np.arange(1, points) * math.pi / points
    cotangent = 1.0 / np.tan(angle)
    nodes = np.concatenate(([scale + 0j], scale * angle * (cotangent + 1j)))
    slope = angle + (angle * cotangent - 1.0) * cotangent
    factors = np.concatenate(([0.5 + 0j], 1.0 + 1j * slope))
    return nodes.astype(np.complex128), np.asarray(scale / points * np.exp(nodes * time) * factors, dtype=np.complex128)
