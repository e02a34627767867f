"""Questions about heat: what joints ask of the iron, why, and what a measured joint or coupon teaches."""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer
from reworkkit.model.steps import expand_refs
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.unknown_places import not_on_board

if TYPE_CHECKING:
    from reworkkit.model.messages import Finding
    from reworkkit.model.results import HeatDemand, HeatExplanation, MeasuredJoint


class AroundHeat(NamedTuple):
    """Which pad of a part comes first, and what heat and moisture do to the parts and their neighbours."""

    pads: dict[str, str]
    findings: "tuple[Finding, ...]"


def heat(request: Request, refs: Sequence[str]) -> "tuple[Answer[tuple[HeatDemand, ...]], AroundHeat]":
    """Return the demand of every joint of the parts named (of all, the heaviest first), with what goes with it."""
    from reworkkit.compute.heat_cautions import heat_cautions
    from reworkkit.compute.heat_demand import first_pads
    from reworkkit.compute.moisture import moisture_notes
    from reworkkit.compute.neighbourhood import warm_findings

    work = open_work(request)
    wanted = set(_known(refs, work.board.parts))
    joints = [demand for demand in work.joint_heat if not wanted or demand.ref in wanted]
    if not wanted:
        joints = sorted(work.heat.values(), key=lambda demand: -(demand.sort_c or 0.0))
    pads = {ref: pin for ref, pin in first_pads(work.joint_heat).items() if ref in wanted}
    told = (
        *heat_cautions(work.board),
        *warm_findings(work.board, work.neighbours),
        *moisture_notes(work.board),
    )
    findings = tuple(one for one in told if not wanted or not one.refs or wanted & set(one.refs))
    return Answer(work.board, work.situation, tuple(joints)), AroundHeat(pads, findings)


def explain(request: Request, refs: Sequence[str]) -> "Answer[tuple[HeatExplanation, ...]]":
    """Return why the joints of the parts named ask what they ask, the heaviest joint of each part first."""
    from reworkkit.compute.heat_demand import explain as explained

    work = open_work(request)
    named = _known(refs, work.board.parts)
    if not named:
        raise ReworkkitError("heat-explain-needs-ref")
    bench = work.board.facts.bench
    found = tuple(one for ref in named for one in explained(work.board, work.joints, bench, ref))
    return Answer(work.board, work.situation, found)


def measured(request: Request, tip: str, flowed: str) -> "Answer[MeasuredJoint]":
    """Return what a joint that was timed teaches about tip and copper, and the line for bench.toml that keeps it."""
    from reworkkit.compute.heat_demand import measured as taught

    work = open_work(request)
    return Answer(work.board, work.situation, taught(work.board, work.joints, work.board.facts.bench, tip, flowed))


def coupon_line(tip: str, seconds: float) -> str:
    """Return the line for bench.toml that keeps the time until solder flowed on the copper coupon."""
    from reworkkit.compute.heat_demand import coupon_line as line

    return line(tip, seconds)


def _known(refs: Sequence[str], parts: Collection[str]) -> list[str]:
    found, unknown = expand_refs(refs, parts)
    if unknown:
        raise not_on_board(unknown)
    return found
