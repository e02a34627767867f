"""Whether a stated limit fits what the parts draw, and lets each converter start."""

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.power_up.limits import Start
from reworkkit.model.messages import Finding, message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Severity


def limit_findings(
    name: str, stated: Band | None, draw: Band, wanted: float, draws_unknown: bool
) -> tuple[Finding, ...]:
    """Return findings on a stated limit that is below the draw, or far above what is needed."""
    if stated is None or stated.nominal is None:
        return ()
    found = []
    if stated.nominal <= (draw.high or 0.0):
        told = message("power-limit-too-low", name=name, stated=amps(stated.nominal), draw=draw, limit=amps(wanted))
        found.append(Finding(told, Severity.CHECK))
    if not draws_unknown and stated.nominal > max(3 * wanted, figure("first_limit")):
        told = message("power-limit-generous", name=name, stated=amps(stated.nominal), limit=amps(wanted))
        found.append(Finding(told, Severity.CHECK))
    return tuple(found)


def start_findings(stated: Band | None, starts: tuple[Start, ...]) -> tuple[Finding, ...]:
    """Return a finding for each converter that a stated limit would keep from starting."""
    found = []
    for start in starts:
        if stated and (stated.nominal or 0.0) < start.current_a:
            facts = {"ref": start.ref, "needs": amps(start.current_a), "volts": f"{start.volts_v:.2g} V"}
            told = message("power-limit-blocks-start", limit=amps(stated.nominal), **facts)
            found.append(Finding(told, Severity.CHECK, (start.ref,)))
    return tuple(found)


def amps(value: float | None) -> str:
    """Return a current as a knob shows it: whole milliampere below 1 A.

    >>> amps(0.0404), amps(1.25)
    ('40 mA', '1.25 A')
    """
    amps = value or 0.0
    return f"{amps * 1000:.0f} mA" if amps < 1 else f"{amps:.3g} A"
