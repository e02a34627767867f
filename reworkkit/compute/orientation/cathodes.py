"""The net at which the cathode of a diode belongs, where no lead of it is called so."""

from collections.abc import Iterable, Mapping

from reworkkit.model.results import OrientationVerdict


def cathodes_elsewhere(verdicts: Iterable[OrientationVerdict], taken: Mapping[str, str]) -> dict[str, str]:
    """Return the net of the cathode of each diode that belongs at another one than it was `taken` to be at.

    Both go from designator to net; what counts is what the circuit needs.
    """
    needed = {verdict.ref: verdict.needs["cathode"][1] for verdict in verdicts if "cathode" in verdict.needs}
    return {ref: needed[ref] for ref, net in taken.items() if ref in needed and needed[ref] != net}
