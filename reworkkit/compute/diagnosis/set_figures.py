"""Resistors that set a figure of a chip, a current or a gain: their faults change that as well."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from reworkkit.compute.diagnosis.hypothesis import Change, Hypothesis
from reworkkit.compute.formulas.network import Template
from reworkkit.model.results import Circuit

_FIGURE = {
    ("current_set", "isolated"): "limit",
    ("current_set", "load"): "current",
    ("current_set", "regulator"): "limit",
    ("gain_set", "amplifier"): "gain",
}
"""What of an element of the same part, by its kind, a resistor sets."""
_OPEN_OHM = 1e7


class Setting(NamedTuple):
    """The columns of a resistor's ohms and of whether it is fitted, that of the figure, and the figure at one ohm.

    A current goes down with the ohms, a gain goes up with them: `power` is -1 or 1.
    """

    ohm: int
    fitted: int
    figure: int
    at_one_ohm: float
    power: int

    def change(self, changes: Mapping[int, float]) -> Change | None:
        """Return what a fault makes of the figure, None where it leaves the resistor as it was."""
        ohm = _OPEN_OHM if changes.get(self.fitted) == 0.0 else changes.get(self.ohm)
        return None if ohm is None else (self.figure, self.at_one_ohm * ohm**self.power)


def with_settings(found: Iterable[Hypothesis], circuit: Circuit, template: Template) -> Iterable[Hypothesis]:
    """Return the hypotheses; those of a resistor that sets a figure with what they make of that, at their own sizes."""
    settings = list(_settings(circuit, template))
    return (_with(one, settings) for one in found) if settings else found


def _with(one: Hypothesis, settings: Iterable[Setting]) -> Hypothesis:
    sizes = tuple((share, (*_more(settings, changes), *changes)) for share, changes in one.sizes)
    return one if sizes == one.sizes else replace(one, sizes=sizes, continuous=False)


def _more(settings: Iterable[Setting], changes: tuple[Change, ...]) -> list[Change]:
    made = dict(changes)
    return [change for one in settings if (change := one.change(made)) is not None]


def _settings(circuit: Circuit, template: Template) -> Iterator[Setting]:
    for e in circuit.elements:
        if e.kind not in ("current_set", "gain_set"):
            continue
        resistors = [
            n
            for n, one in enumerate(template.elements)
            if one.kind == "resistor" and one.ref != e.ref and set(one.nodes) == set(e.nodes)
        ]
        own = [
            (n, one) for n, one in enumerate(template.elements) if one.ref == e.ref and (e.kind, one.kind) in _FIGURE
        ]
        for n in resistors:
            for k, one in own:
                columns = (n, "resistance"), (n, "fitted"), (k, _FIGURE[e.kind, one.kind])
                ohm, fitted, figure = (template.column[column] for column in columns)
                at_one = next(iter(e.parameters.values())).nominal or 0.0
                yield Setting(ohm, fitted, figure, at_one, -1 if e.kind == "current_set" else 1)
