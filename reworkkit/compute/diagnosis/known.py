"""Faults that are written down already: assumed under every hypothesis, never offered as the finding."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.hypotheses import Catalogue
from reworkkit.compute.diagnosis.hypothesis import Change, Hypothesis
from reworkkit.model.messages import Message

KINDS = {
    "wrong_part": frozenset(("value", "decade_high", "decade_low", "wrong_variant", "wrong_output", "other_type")),
    "reversed": frozenset(("reversed",)),
}
"""What each stated fault does to the circuit. A damaged part or a tacked joint may do anything: its own faults stay
to be weighed."""
MOST_SIZES = 4
"""So many sizes of the known faults together are carried under each hypothesis, where nothing tells which it is."""
AGREES = 1e-2
"""A size whose fit to the ohms and diode readings is below this share of the best is out."""
SAME_SHARE, SAME_V = 0.01, 0.02
"""Sizes that move no point by more than this are as good as one."""


class Known(NamedTuple):
    """A fault that the fitted list or the job states: designator, kind, and what says so where in words."""

    ref: str
    kind: str
    told: Message

    @property
    def settled(self) -> bool:
        """Whether what it does to the circuit is known, so that it is taken for granted."""
        return self.kind in KINDS

    def changes(self, made: Catalogue) -> bool:
        """Return whether it changes anything in a circuit: a wrong capacitor, a part that is not modelled do not."""
        return any(_says(self, one) for one in made.hypotheses)


def _says(known: Known, one: Hypothesis) -> bool:
    return one.fault.ref == known.ref and one.fault.kind in KINDS.get(known.kind, ())


def with_known(made: Catalogue, known: Sequence[Known], engine: Engine) -> Catalogue:
    """Return the catalogue with the known faults as its base; `engine` has them alone, with the readings.

    Where the size of a known fault is not known, every hypothesis is taken at several sizes of it.
    """
    found = [(one, sizes) for one in known if (sizes := _sizes(one, engine))]
    if not found:
        return made
    combined = [tuple(c for part in parts for c in part) for parts in product(*(s for _, s in _few(found)))]
    settled = {(one.ref, kind) for one, _ in found for kind in KINDS[one.kind]}
    columns = {column for changes in combined for column, _ in changes}
    kept = [h for h in made.hypotheses if not _is_known(h, settled, columns)]
    return replace(made, hypotheses=tuple(_over(h, combined) for h in kept))


def known_alone(made: Catalogue, known: Sequence[Known]) -> Catalogue:
    """Return the catalogue of the healthy board and the known faults alone."""
    few = tuple(h for n, h in enumerate(made.hypotheses) if n == 0 or any(_says(one, h) for one in known))
    return replace(made, hypotheses=few)


def _is_known(one: Hypothesis, settled: set[tuple[str, str]], columns: set[int]) -> bool:
    own = {column for _, changes in one.sizes for column, _ in changes}
    return (one.fault.ref, one.fault.kind) in settled or bool(own and own <= columns)


def _over(one: Hypothesis, bases: Sequence[tuple[Change, ...]]) -> Hypothesis:
    """Return a hypothesis on top of each base; what it changes itself comes last and so wins."""
    sizes = tuple((share / len(bases), (*base, *own)) for base in bases for share, own in one.sizes)
    return replace(one, sizes=sizes, runs=len(bases))


def _sizes(known: Known, engine: Engine) -> list[tuple[Change, ...]]:
    """Return the changes that a known fault may be, those that the unpowered readings leave."""
    mine = [n for n, one in enumerate(engine.dictionary.catalogue.hypotheses) if _says(known, one)]
    clusters = np.flatnonzero(np.isin(engine.dictionary.owner, mine))
    if not len(clusters):
        return []
    changes = [c for n in mine for _, c in engine.dictionary.catalogue.hypotheses[n].sizes]
    logs = sum((one[clusters] for one in engine.logs), np.zeros(len(clusters)))
    left = [int(n) for n in np.flatnonzero(logs > logs.max() + np.log(AGREES))]
    left.sort(key=lambda n: changes[n][0][1])
    states = engine.dictionary.states[clusters[left]]
    far = np.abs(states - states[:1]) > SAME_V + SAME_SHARE * np.abs(states[:1])
    best = int(np.argmax(logs))
    return [changes[n] for n in left] if far.any() else [changes[best]]


def _few(found: Sequence[tuple[Known, list[tuple[Change, ...]]]]) -> list[tuple[Known, list[tuple[Change, ...]]]]:
    """Return the sizes thinned evenly until all of them together are few."""
    left = [(one, list(sizes)) for one, sizes in found]
    while np.prod([len(sizes) for _, sizes in left]) > MOST_SIZES:
        longest = max(left, key=lambda pair: len(pair[1]))[1]
        del longest[1::2]
    return left
