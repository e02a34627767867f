"""The faults of the bench: those a list of hypotheses should hold, and those it should not.

Kinds: open, missing, short, bridge (two pins of one part, by their nets), reversed, times_10, tenth, pin_open,
wrong_variant, and for the supply limit_low, wrong_voltage, swapped, off.
Unlisted: value, poor_joint, leaky, odd_output, wrong_type.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from tests.fault_bench.figures import Figures
from tests.fault_bench.parts import MANY_PINS, TWO_LEADS, Part, Section

POLARISED = frozenset({"elko", "diode", "led", "zener"})
UNLISTED = frozenset({"value", "poor_joint", "leaky", "odd_output", "wrong_type"})
_SCHOTTKY_LIKE = 1e-7
"""Saturation current (ampere) above which a diode counts as a Schottky diode."""


@dataclass(frozen=True)
class Fault:
    """One fault. `pins`: numbers concerned; `to`: what it is instead; `ohms`: resistance; `factor`: of its value."""

    ref: str
    kind: str
    pins: tuple[str, ...] = ()
    to: str | float = ""
    factor: float = 1.0
    ohms: float = 0.0
    nets: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """A name that is unique in a section, e.g. `U1:pin_open:2`."""
        told = [*self.pins] or [f"{self.to}"] * (self.to != "") or [f"{self.factor:g}"] * (self.factor != 1.0)
        return ":".join((self.ref, self.kind, *told))

    def as_json(self) -> dict[str, Any]:
        """Return what a case stores of it."""
        said: dict[str, Any] = {"id": self.id, "ref": self.ref, "kind": self.kind}
        for key in ("pins", "nets"):
            if getattr(self, key):
                said[key] = list(getattr(self, key))
        return (
            said
            | ({"to": self.to} if self.to != "" else {})
            | ({"factor": self.factor} if self.factor != 1.0 else {})
            | ({"ohms": self.ohms} if self.ohms else {})
        )

    @classmethod
    def from_json(cls, said: dict[str, Any]) -> "Fault":
        """Return the fault a case stores."""
        return cls(
            said["ref"],
            said["kind"],
            tuple(said.get("pins", ())),
            said.get("to", ""),
            said.get("factor", 1.0),
            said.get("ohms", 0.0),
            tuple(said.get("nets", ())),
        )


def listed(section: Section) -> list[Fault]:
    """Return the single faults of a section that a list of hypotheses should hold."""
    found = [fault for part in section.parts if part.kind != "plug" for fault in _of_part(part, section.bench.figures)]
    volts = section.supply_v
    found += [Fault("supply", "limit_low", to=amps) for amps in (0.005, 0.02)]
    found += [Fault("supply", "wrong_voltage", to=round(volts * share, 1)) for share in (0.4, 0.75)]
    return [*found, Fault("supply", "swapped"), Fault("supply", "off")]


def _of_part(part: Part, figures: Figures) -> list[Fault]:
    if part.kind in TWO_LEADS:
        return _of_two_leads(part, figures)
    found = [Fault(part.ref, "missing")]
    found += [Fault(part.ref, "pin_open", (number,), nets=(part.roles[role],)) for role, number in part.pins.items()]
    found += _bridges(part)
    if part.kind == "load":
        found.append(Fault(part.ref, "short"))
    if part.package == "TO-92":
        found.append(Fault(part.ref, "reversed"))
    if part.kind in ("fixed", "enabled"):
        found += [Fault(part.ref, "wrong_variant", to=volts) for volts in figures.regulators[part.value].others]
    return found


def _of_two_leads(part: Part, figures: Figures) -> list[Fault]:
    found = [Fault(part.ref, "open")]
    if part.kind not in ("fuse", "coil", "bead"):
        found.append(Fault(part.ref, "short"))
    if part.kind in POLARISED:
        found.append(Fault(part.ref, "reversed"))
    if part.kind == "resistor":
        found += [Fault(part.ref, "times_10"), Fault(part.ref, "tenth")]
    if part.kind == "zener":
        found += [Fault(part.ref, "wrong_variant", to=value) for value in figures.mixed_up.get(part.value, ())]
    return found


def _bridges(part: Part) -> list[Fault]:
    """Return bridges between pins next to each other (by number) on two nets."""
    if part.kind not in MANY_PINS or part.kind == "load":
        return []
    by_number = {number: part.roles[role] for role, number in part.pins.items()}
    numbers = sorted(by_number, key=int)
    return [
        Fault(part.ref, "bridge", (a, b), nets=(by_number[a], by_number[b]))
        for a, b in pairwise(numbers)
        if int(b) - int(a) == 1 and by_number[a] != by_number[b] and not (part.kind == "opto" and a == "2")
    ]


def unlisted(section: Section) -> list[Fault]:
    """Return faults that no list of the usual ones holds."""
    return [fault for part in section.parts for fault in _odd_of_part(section, part)]


def _odd_of_part(section: Section, part: Part) -> list[Fault]:
    figures = section.bench.figures
    odd, at_input = figures.odd, part.ref in ("D1", "L1") and part.kind in ("diode", "bead")
    found = [Fault(part.ref, "value", factor=factor) for factor in odd.factors.get(part.kind, ())]
    if part.kind == "fuse" or at_input:
        found.append(Fault(part.ref, "poor_joint", ohms=odd.joint_ohm))
    if part.kind in odd.leaky and part.nets[0] in section.rails:
        found.append(Fault(part.ref, "leaky", ohms=odd.leak_ohm))
    if part.kind in ("fixed", "enabled"):
        volts = figures.regulators[part.value].volts * odd.regulator_share
        found.append(Fault(part.ref, "odd_output", to=round(volts, 2)))
    if part.kind == "diode" and at_input:
        schottky = figures.diodes[part.value].saturation_a > _SCHOTTKY_LIKE
        found.append(Fault(part.ref, "wrong_type", to=odd.diodes[0 if schottky else 1]))
    if part.kind == "zener" and part.value in figures.mixed_up:
        found.append(Fault(part.ref, "odd_output", to=round(figures.zeners[part.value].volts * odd.zener_share, 2)))
    return found
