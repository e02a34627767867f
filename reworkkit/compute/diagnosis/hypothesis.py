"""One thing that may be wrong, how likely it is, and what it may make of the circuit's figures."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from reworkkit.model.diagnosis import PIN_OPEN, Fault
from reworkkit.model.messages import message

Change = tuple[int, float]
HEALTHY = Fault("", "none", (), message("fault-none"))


@dataclass(frozen=True)
class Hypothesis:
    """One fault, its weight against a healthy board, and its sizes: (share, changes of columns) each."""

    fault: Fault
    prior: float
    sizes: tuple[tuple[float, tuple[Change, ...]], ...]
    continuous: bool = False
    runs: int = 1
    """How often its own sizes are repeated, once for each size of what is known already."""


def joined(hypotheses: Iterable[Hypothesis]) -> list[Hypothesis]:
    """Return the hypotheses with those of one name made one; a pin open stays apart for each unit of a chip."""
    found: dict[tuple[str, ...], Hypothesis] = {}
    for one in hypotheses:
        unit = one.fault.nets[:1] if one.fault.kind == PIN_OPEN else ()
        key = (one.fault.ref, one.fault.kind, *unit)
        found[key] = _with(found[key], one) if key in found else one
    return list(found.values())


def _with(one: Hypothesis, other: Hypothesis) -> Hypothesis:
    states = [changes for _, changes in one.sizes]
    more = [changes for _, changes in other.sizes if changes not in states]
    if not more:
        return one
    nets = tuple(dict.fromkeys((*one.fault.nets, *other.fault.nets)))
    share = 1 / (len(states) + len(more))
    sizes = tuple((share, changes) for changes in (*states, *more))
    return replace(
        one, fault=one.fault._replace(nets=nets), prior=one.prior + other.prior, sizes=sizes, continuous=False
    )
