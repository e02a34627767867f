"""How well each cluster fits the readings made: powered volts and amps together, ohms and diode tests on their own."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.dictionary import UNSETTLED_SHARE, Dictionary
from reworkkit.compute.diagnosis.meter import Meters
from reworkkit.compute.diagnosis.points import SUPPLY, End, Spot
from reworkkit.compute.formulas.junction import Array, Rows

FAR_SHARE = 0.05
"""What a faulty board does far from where it should work is less certain: share of the way from the healthy state."""
FAR_OF, FAR_LEAST_V = 2.0, 0.5
"""That way counts up to so many times what is left of a voltage, and this: a net that is dead is surely dead."""
FLOOR_V, FLOOR_SHARE = 0.008, 0.004
"""Least spread of a voltage that a model may claim: volts, and share of it."""
SATURATED_V = 0.05
"""Further spread at the collector of a bipolar transistor: what it leaves when it is full on differs by type."""
FLOOR_A, FLOOR_A_SHARE = 0.0005, 0.02
"""Least spread of the supply current, as above."""
DRIFTS = 1.2
"""A spread so many times that of a point that is held tells that nothing holds it."""
WANDERS, STANDS = 0.7, 0.02
"""Chance that a display jumps at a board without, and with, a stable operating point."""


class Taken(NamedTuple):
    """A powered reading in the circuit's terms; `value` None where the display jumped."""

    spot: Spot
    value: float | None


@dataclass(frozen=True)
class View:
    """Means, loadings (one more axis: factors) and own spreads of some points: (clusters, points).

    `held` is the own spread without what a point may drift by for want of anything that holds it.
    """

    mean: Array
    loads: Array
    own: Array
    held: Array

    def part(self, clusters: Rows, points: Sequence[int] | slice) -> "View":
        """Return the view of some clusters and points."""
        fields = (self.mean, self.loads, self.own, self.held)
        return View(*(field[clusters][:, points] for field in fields))

    def covariance(self, held: bool = False) -> Array:
        """Return the covariance matrices (clusters, points, points), as wide as it may be or with all points held."""
        found = np.einsum("cik,cjk->cij", self.loads, self.loads)
        spot = np.arange(self.mean.shape[1])
        found[:, spot, spot] += (self.held if held else self.own) ** 2
        return np.asarray(found)


def view(dictionary: Dictionary, spots: Sequence[Spot], meters: Meters) -> View:
    """Return what every cluster predicts at some points, with the meter's errors: one gain for volts, one for amps."""
    n = len(dictionary.states)
    mean, loads = np.zeros((n, len(spots))), np.zeros((n, len(spots), dictionary.loads.shape[2] + 2))
    own, loose = np.zeros((n, len(spots))), np.zeros((n, len(spots)))
    size = max(float(dictionary.states[0, : len(dictionary.template.nodes)].max(initial=1.0)), 1.0)
    collectors = {e.nodes[0] for e in dictionary.template.elements if e.kind in ("npn", "pnp")}
    for j, spot in enumerate(spots):
        if spot.supply:
            current = dictionary.current_of(spot.red.node)
            sign = np.sign(dictionary.states[:, current])
            mean[:, j] = np.abs(dictionary.states[:, current])
            loads[:, j, :-2] = sign[:, None] * dictionary.loads[:, current]
            loads[:, j, -1] = meters.amps.percent / 100 * mean[:, j]
            own[:, j] = np.hypot(meters.amps.fixed, FLOOR_A + FLOOR_A_SHARE * mean[:, j])
            own[:, j] += FAR_SHARE * np.minimum(np.abs(mean[:, j] - mean[0, j]), mean[:, j])
            own[~dictionary.settled, j] += UNSETTLED_SHARE * mean[~dictionary.settled, j] + 0.02
            continue
        for end, way in ((spot.red, 1.0), (spot.black, -1.0)):
            place = unknown(dictionary, end)
            if place is not None:
                mean[:, j] += way * (dictionary.states[:, place] + dictionary.alone[:, place])
                loads[:, j, :-2] += way * dictionary.loads[:, place]
                if place < dictionary.loose.shape[1]:
                    loose[:, j] = np.hypot(loose[:, j], dictionary.loose[:, place])
                    own[:, j] = np.hypot(own[:, j], dictionary.leaked[:, place])
        loads[:, j, -2] = meters.volts.percent / 100 * mean[:, j]
        own[:, j] = np.hypot(own[:, j], np.hypot(meters.volts.fixed, FLOOR_V + FLOOR_SHARE * np.abs(mean[:, j])))
        if {spot.red.node, spot.black.node} & collectors:
            own[:, j] = np.hypot(own[:, j], SATURATED_V)
        far = np.minimum(np.abs(mean[:, j] - mean[0, j]), FAR_OF * np.abs(mean[:, j]) + FAR_LEAST_V)
        own[:, j] += FAR_SHARE * far
        own[~dictionary.settled, j] += UNSETTLED_SHARE * size
        for end in (spot.red, spot.black):
            if end.lead_of is not None:
                own[open_at(dictionary, end), j] += size
    return View(mean, loads, np.hypot(own, loose), own)


def open_at(dictionary: Dictionary, end: End) -> Rows:
    """Return the clusters in which the lead that a probe touches has no contact with its net: it may be anywhere."""
    open_ = [
        n
        for n, one in enumerate(dictionary.catalogue.hypotheses)
        if one.fault.ref == end.lead_of and "open" in one.fault.kind and end.node in one.fault.nets and end.pin is None
    ]
    return np.flatnonzero(np.isin(dictionary.owner, open_))


def unknown(dictionary: Dictionary, end: End) -> int | None:
    """Return the unknown a probe touches: a regulator's pin itself, else its net; None for ground."""
    if end.pin is not None and end.pin in dictionary.pins:
        return dictionary.pins[end.pin]
    place = dictionary.template.index.get(end.node)
    return None if place is None or place == len(dictionary.template.nodes) else place


def supply_spot(dictionary: Dictionary, net: str) -> Spot:
    """Return the current of the supply at a net as a point: the first one is called so, others by their net."""
    first = net == dictionary.catalogue.setting.supply
    return Spot(SUPPLY if first else net, End("" if first else net), End(""), True)


def knows(dictionary: Dictionary, spot: Spot) -> bool:
    """Return whether the compiled circuit has both ends of a point."""
    if spot.supply:
        return not spot.red.node or spot.red.node in dictionary.supplies
    return all(end.node in dictionary.template.index for end in (spot.red, spot.black))


class Fit(NamedTuple):
    """Logarithm of the likelihood and squared distance of each cluster."""

    log: Array
    distance: Array


def fit(seen: View, values: Array) -> Fit:
    """Return how well readings fit each cluster: a Gaussian of its mean and covariance.

    A point that nothing holds is mostly where it floats all the same: half the weight is on that.
    """
    if not len(values):
        return Fit(np.zeros(len(seen.mean)), np.zeros(len(seen.mean)))
    log, distance = _gaussian(values - seen.mean, seen.covariance())
    adrift = np.flatnonzero((seen.own > DRIFTS * seen.held).any(axis=1))
    if len(adrift):
        part = seen.part(adrift, slice(None))
        still, _ = _gaussian(values - part.mean, part.covariance(held=True))
        log[adrift] = np.logaddexp(log[adrift], still) - np.log(2)
    return Fit(log, distance)


def _gaussian(off: Array, covariance: Array) -> tuple[Array, Array]:
    """Return the logarithm of the density of each row of `off`, and its squared distance."""
    solved = np.linalg.solve(covariance, off[:, :, None])[:, :, 0]
    distance = (off * solved).sum(axis=1)
    _, log_size = np.linalg.slogdet(covariance)
    return np.asarray(-0.5 * (distance + log_size + off.shape[1] * np.log(2 * np.pi))), np.asarray(distance)


def jumping(dictionary: Dictionary, count: int) -> Array:
    """Return the logarithm of the chance that `count` displays jumped."""
    return np.asarray(count * np.log(np.where(dictionary.settled, STANDS, WANDERS)))


class Forecast(NamedTuple):
    """Mean and spread of each candidate point under each cluster, given the readings made."""

    mean: Array
    spread: Array


def forecast(made: View, values: Array, other: View) -> Forecast:
    """Return what each cluster forecasts at further points, given the readings already made."""
    spread = (other.loads**2).sum(axis=2) + other.own**2
    if not len(values):
        return Forecast(other.mean, np.sqrt(spread))
    cross = np.einsum("cjk,cik->cji", other.loads, made.loads)
    gain = np.linalg.solve(made.covariance(), cross.transpose(0, 2, 1)).transpose(0, 2, 1)
    mean = other.mean + np.einsum("cji,ci->cj", gain, values[None] - made.mean)
    spread = spread - np.einsum("cji,cji->cj", gain, cross)
    return Forecast(np.asarray(mean), np.sqrt(np.maximum(spread, other.own**2)))
