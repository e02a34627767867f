"""An iron on a reduced joint, in closed form: what one kelvin of tip setting, or one watt of heater, does by a time.

Heater at its setting - conductance - tip end - contact and tab - joint. Everything is linear, so the temperature at a
time follows from the response at complex rates (fixed Talbot inversion). A heater at its power limit is the second
case; the true temperature lies under both, so the setting needed is the larger of the two.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.formulas.conduction import contour
from reworkkit.compute.heat_demand.response import Response

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]


class Iron(NamedTuple):
    """An iron on B joints: conductance [W/K] heater to tip end, contact with tab in series, heat stored [J/K]."""

    inner: Floats
    contact: Floats
    tip: Floats
    heater: Floats
    power_w: float


class Gains(NamedTuple):
    """What the joint has by a time, per kelvin of setting above the surroundings and per watt; axes: joint.

    `near` and `far` with the heater at its setting; `stored_*` [K/K] and `driven_*` [K/W] at the power limit.
    """

    near: Floats
    far: Floats
    stored_near: Floats
    stored_far: Floats
    driven_near: Floats
    driven_far: Floats


def gains(response: Response, iron: Iron, time: float) -> Gains:
    """Return what an iron does to each joint by `time` [s] after the wetted tip touches it."""
    rates, weights = contour(time)
    near, far = response.at(rates)
    return gains_at(near, far, iron, rates, weights)


def gains_at(near: Complex, far: Complex, iron: Iron, rates: Complex, weights: Complex) -> Gains:
    """Return the gains from temperatures per watt [K/W] at the rates of a contour; axes: joint, rate."""
    inner, contact = iron.inner[..., None], iron.contact[..., None]
    drawn = 1.0 / (1.0 / contact + near)
    heat = iron.tip[..., None] * rates
    held = (heat + inner) / (rates * (heat + inner + drawn)) * drawn
    store = iron.heater[..., None] * rates + inner
    limited = drawn / (heat + inner + drawn - inner * inner / store)
    stored = limited * (iron.tip[..., None] + inner * iron.heater[..., None] / store)
    driven = limited * inner / (store * rates)

    def by_time(function: Complex) -> Floats:
        return np.asarray((function @ weights).real)

    return Gains(*(by_time(f * side) for f in (held, stored, driven) for side in (near, far)))


def needed_rise(gain: Gains, near_rise: Floats, far_rise: Floats, power_w: float) -> Floats:
    """Return the setting needed [K above the surroundings] for given rises of joint and hole end.

    The largest over both ends and both cases of the heater. A heater too weak even from full store gives a very high
    figure, never a refusal: the caller judges it.
    """
    held = np.maximum(near_rise / gain.near, far_rise / np.maximum(gain.far, 1e-9))
    limited = np.maximum(
        (near_rise - power_w * gain.driven_near) / np.maximum(gain.stored_near, 1e-6),
        (far_rise - power_w * gain.driven_far) / np.maximum(gain.stored_far, 1e-6),
    )
    return np.asarray(np.maximum(held, limited))


def reached_rise(gain: Gains, setting_rise: float, power_w: float) -> tuple[Floats, Floats]:
    """Return the rise [K] of joint and hole end for a setting above the surroundings: the lower of the two cases."""
    near = np.minimum(gain.near * setting_rise, gain.stored_near * setting_rise + gain.driven_near * power_w)
    far = np.minimum(gain.far * setting_rise, gain.stored_far * setting_rise + gain.driven_far * power_w)
    return near, far


def energy_to_hold(response: Response, time: float) -> Floats:
    """Return the heat [J/K] a joint takes when it is held one kelvin above the surroundings from 0 to `time` [s]."""
    rates, weights = contour(time)
    near, _ = response.at(rates)
    return np.asarray(((1.0 / (rates**2 * near)) @ weights).real)


def warmth(response: Response, time: float, distances: Floats) -> Floats:
    """Return the board's rise at distances [m] when the joint is held one kelvin up until `time`; joint, distance."""
    rates, weights = contour(time)
    near, _ = response.at(rates)
    factor = 1.0 / (response.decay[:, :, None] + rates)
    rings = np.matmul((response.spread * response.near[:, None]).astype(complex), factor)
    rise = ((rings / (rates * near[:, None])) @ weights).real
    rows = [np.interp(distances, radius, row) for radius, row in zip(response.radius, rise, strict=True)]
    return np.asarray(np.maximum(np.array(rows), 0.0))
