"""What a swept input says: range, dead travel, steps back, line, noise, hysteresis, agreement of two channels.

Every figure is held against a limit of `tables/input_limits.csv` (common practice) and is inside or outside it at the
points measured. What was not logged is not judged.
"""

from reworkkit.compute.input_check.channels import judge_position
from reworkkit.compute.input_check.sensors import judge_current, judge_temperature
from reworkkit.model.sweep import InputVerdict, Sweep, SweepFacts

_KINDS = {"position": judge_position, "temperature": judge_temperature, "current": judge_current}


def check_input(sweep: Sweep, facts: SweepFacts | None = None) -> InputVerdict:
    """Return the verdict on a sweep: two channels against each other, or a single one against table or zero."""
    facts = facts or SweepFacts()
    kind = "current" if facts.zero_v is not None and sweep.kind == "position" and not sweep.against else sweep.kind
    return _KINDS[kind](sweep, facts)
