"""The copper and metal at every pin, from the netlist's pads, declared or inferred planes, and package defaults."""

from reworkkit.compute.joints.copper import Copper, copper_of
from reworkkit.compute.joints.lands import Land, lands_of, row_of
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.facts import PinJointFacts
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.netlist import Pin
from reworkkit.model.part import Part
from reworkkit.model.results import Joint
from reworkkit.model.vocabulary import Fit, JointKind, Side

__all__ = ["find_joints", "heat_questions"]


def find_joints(board: Board) -> tuple[Joint, ...]:
    """Return the joints of every part, one per land; without a netlist the heaviest of each part."""
    copper = copper_of(board)
    pins: dict[str, list[Pin]] = {}
    for pin in board.pins.values():
        pins.setdefault(pin.ref, []).append(pin)
    joints: list[Joint] = []
    for part in board.parts.values():
        if part.fit is not Fit.NOT_A_PART:
            lands = lands_of(part, tuple(pins.get(part.ref, ())), board.placements.get(part.ref))
            joints += [_joint(board, part, land, lands, copper) for land in lands]
    return tuple(joints)


def heat_questions(board: Board, joints: tuple[Joint, ...]) -> tuple[NotJudged, ...]:
    """Return what keeps heat from being computed or narrow, one line a cause, with the line that would answer it."""
    questions = []
    computed = {joint.ref for joint in joints}
    unknown = tuple(ref for ref, part in board.parts.items() if part.fit is Fit.FIT and ref not in computed)
    if unknown:
        refs = tuple(sorted(unknown, key=natural_key))
        answer = f'[parts]\n"{refs[0]}" = {{ package = "SOIC-8" }}'
        questions.append(NotJudged(refs, message("heat-ask-package"), message("heat-because-no-package"), answer))
    bare = tuple(sorted({j.ref for j in joints if j.net is None and not j.pin}, key=natural_key))
    if bare:
        questions.append(NotJudged(bare, message("heat-ask-netlist"), message("heat-because-no-netlist"), None))
    if board.facts.board.outer_copper is None and joints:
        answer = '[board]\nouter_copper = "1 oz"'
        questions.append(NotJudged((), message("heat-ask-copper"), message("heat-because-no-copper"), answer))
    if board.nets and not board.facts.board.planes:
        answer = '[board]\nplanes = { GND = ["bottom"] }'
        questions.append(NotJudged((), message("heat-ask-planes"), message("heat-because-no-planes"), answer))
    return tuple(questions)


def _joint(board: Board, part: Part, land: Land, lands: tuple[Land, ...], copper: Copper) -> Joint:
    said = board.facts.parts[part.ref].joints.get(land.pin) if part.ref in board.facts.parts else None
    planes, vias, assumed = copper.at(land)
    if said is not None:
        planes, vias, assumed = _as_said(said, land, planes, vias, copper)
    edge, second = copper.edges_mm(land)
    if said is not None and said.edge is not None:
        edge, second = float(said.edge.value), None
    count, distance = row_of(land, lands)
    package = part.identity.package
    return Joint(
        part.ref,
        land.pin,
        land.kind,
        land.area_mm2,
        land.hole_mm,
        package.lead_mm2 if package else None,
        planes,
        edge,
        vias,
        "your line" if said is not None else copper.basis if land.net else "package",
        land.assumed + assumed,
        land.side,
        land.net,
        second,
        count,
        distance,
    )


def _as_said(
    said: PinJointFacts, land: Land, planes: tuple[tuple[str, float, str], ...], vias: int, copper: Copper
) -> tuple[tuple[tuple[str, float, str], ...], int, tuple[Message, ...]]:
    """Lay what board.toml says of one pin over what was found."""
    relief = said.relief or copper.relief
    if said.planes:
        joined = tuple((layer, copper.plane_mm, relief) for layer in said.planes)
        others = tuple(p for p in planes if p[0] not in said.planes and p[2] == "not connected")
        planes = joined + others
    elif said.relief:
        planes = tuple((layer, size, said.relief if _is_plane(kind) else kind) for layer, size, kind in planes)
    if said.vias is not None:
        vias = said.vias
    elif said.planes and land.kind is not JointKind.HOLE and _reaches_other_side(said.planes, land.side):
        vias = max(vias, 1)
    return planes, vias, (message("heat-joint-as-said", pin=f"{land.ref}.{land.pin}"),)


def _is_plane(relief: str) -> bool:
    return relief != "not connected" and not relief.startswith("track")


def _reaches_other_side(planes: tuple[str, ...], side: Side) -> bool:
    return any(layer != side for layer in planes)
