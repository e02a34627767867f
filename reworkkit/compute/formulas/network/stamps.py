"""Many elements of one kind as one, and what they add to the equations, gathered before it is added.

Several elements may meet at one node, so what they add is summed by its place first. The places of a circuit stay from
one evaluation to the next, only the figures change.
"""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple, TypeVar

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows

Element = TypeVar("Element", bound=tuple[Any, ...])


def stacked(elements: Iterable[Element]) -> list[Element]:
    """Return elements of one kind as few: nodes and other whole figures (elements), figures of rows (rows, elements).

    Those that lack the same figures stand together; a figure that is lacking is None.
    """
    alike: dict[tuple[bool, ...], list[Element]] = {}
    for one in elements:
        alike.setdefault(tuple(part is None for part in one), []).append(one)
    return [_as(group[0], [_together(parts) for parts in zip(*group, strict=True)]) for group in alike.values()]


def picked(elements: Element, rows: Rows) -> Element:
    """Return stacked elements with the figures of some rows."""
    return _as(elements, [part if part is None or part.ndim == 1 else part[rows] for part in elements])


def _as(one: Element, parts: Sequence[Any]) -> Element:
    return type(one)(*parts)


def _together(parts: Sequence[Any]) -> Array | Rows | None:
    if parts[0] is None:
        return None
    return np.stack(parts, axis=1) if isinstance(parts[0], np.ndarray) else np.array(parts)


class _Plan(NamedTuple):
    """How figures are summed by place: their order, where each place begins in it, and the places."""

    order: Rows
    begins: Rows
    places: Rows


Plans = dict[str, _Plan]


class Stamps:
    """What elements add to residuals and slopes in one evaluation: figures (rows, elements) at places (elements)."""

    def __init__(self, slopes: bool) -> None:
        self.slopes = slopes
        self._left: list[tuple[Rows, Array]] = []
        self._bent: list[tuple[Rows, Rows, Array]] = []

    def add(self, equation: Rows, value: Array) -> None:
        """Add to what is left over in equations; in that of a node, currents that leave it."""
        self._left.append((equation, value))

    def slope(self, equation: Rows, unknown: Rows, value: Array) -> None:
        """Add to the slopes of equations against unknowns."""
        self._bent.append((equation, unknown, value))

    def flow(self, start: Rows, end: Rows, current: Array) -> None:
        """Add a current from one node to another."""
        self.add(start, current)
        self.add(end, -current)

    def flow_slope(self, start: Rows, end: Rows, plus: Rows, minus: Rows, slope: Array) -> None:
        """Add the slope of a current from `start` to `end` against the voltage between `plus` and `minus`."""
        self.slope(start, plus, slope)
        self.slope(start, minus, -slope)
        self.slope(end, plus, -slope)
        self.slope(end, minus, slope)

    def into(self, f: Array, j: Array, plans: Plans) -> None:
        """Sum what was gathered into residuals (rows, size) and slopes (rows, size, size)."""
        size = f.shape[1]
        if self._left:
            if "residuals" not in plans:
                plans["residuals"] = _plan([equation for equation, _ in self._left])
            _sum(f, plans["residuals"], [value for _, value in self._left])
        if self._bent:
            if "slopes" not in plans:
                plans["slopes"] = _plan([equation * size + unknown for equation, unknown, _ in self._bent])
            _sum(j.reshape(len(j), size * size), plans["slopes"], [value for _, _, value in self._bent])


def _sum(whole: Array, plan: _Plan, values: list[Array]) -> None:
    ordered = np.concatenate(values, axis=1)[:, plan.order]
    whole[:, plan.places] += np.add.reduceat(ordered, plan.begins, axis=1)


def _plan(gathered: list[Rows]) -> _Plan:
    places = np.concatenate(gathered)
    order = np.argsort(places, kind="stable")
    ordered = places[order]
    begins = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    return _Plan(order, begins, ordered[begins])
