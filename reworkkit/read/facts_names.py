"""Names in board.toml: those the board does not have are told, those that contradict each other are refused."""

from collections.abc import Collection, Iterable, Mapping

from reworkkit.errors import ReworkkitError
from reworkkit.model.designator import natural_sorted
from reworkkit.model.designator_list import in_short
from reworkkit.model.facts import BoardFacts
from reworkkit.model.messages import Finding, message
from reworkkit.model.net_names import is_ground_name
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity

BOARD_FILE = "board.toml"


def names_not_there(facts: BoardFacts, known: Collection[str]) -> tuple[Finding, ...]:
    """Return one finding per section that names designators which neither list, placement nor netlist has."""
    named: dict[str, Iterable[str]] = {
        "parts": facts.parts,
        "hold_points": (ref for one in facts.hold_points for ref in (*one.needs, *one.before)),
        "fasten": (ref for one in facts.fasten for ref in one.parts),
        "program": (one.part for one in facts.program),
        "rails": (one.made_by for one in facts.rails.values() if one.made_by),
        "loads": (one.part for one in facts.loads.values() if one.part),
    }
    found = []
    for section, refs in named.items():
        strange = tuple(natural_sorted({ref for ref in refs if ref not in known}))
        if strange:
            told = message("facts-names-not-there", section=section, refs=in_short(strange))
            where = Where(BOARD_FILE, _line(facts.lines, section, strange[0]))
            found.append(Finding(told, Severity.CHECK, strange, (where,)))
    return tuple(found)


def nets_not_there(facts: BoardFacts, nets: Collection[str]) -> tuple[Finding, ...]:
    """Return one finding per section that names nets which the netlist does not have; none where it has no net."""
    named: dict[str, Iterable[str]] = {
        "board.ground": facts.board.ground,
        "supplies": facts.supplies,
        "rails": facts.rails,
        "loads": facts.loads,
        "nets": facts.nets,
        "hold_points": (
            net.strip() for one in facts.hold_points for net in (one.supply or "").split(",") if net.strip()
        ),
    }
    found = []
    for section, names in named.items():
        strange = tuple(natural_sorted({net for net in names if net not in nets})) if nets else ()
        if strange:
            told = message("facts-nets-not-there", section=section, nets=", ".join(strange))
            where = Where(BOARD_FILE, _line(facts.lines, section, strange[0]))
            found.append(Finding(told, Severity.CHECK, (), (where,)))
    return tuple(found)


def _line(lines: Mapping[str, int], section: str, ref: str) -> int:
    of_section = (line for key, line in lines.items() if key.startswith(section) and line)
    return lines.get(f"{section}.{ref}") or min(of_section, default=0)


def hold_point_problems(facts: BoardFacts, lines: Mapping[tuple[str, ...], int]) -> list[ReworkkitError]:
    """Return what makes hold points contradict each other or themselves: no name, a name twice, needs and protects."""
    problems: list[ReworkkitError] = []
    seen: set[str] = set()
    for n, one in enumerate(facts.hold_points):
        path = ("hold_points", str(n))
        where = (Where(BOARD_FILE, lines.get((*path, "name"), lines.get(path, 0))),)
        name = one.name.strip()
        if not name or name.casefold() in seen:
            problems.append(
                ReworkkitError("hold-point-name-twice" if name else "hold-point-no-name", where=where, name=name)
            )
        seen.add(name.casefold())
        if both := natural_sorted(set(one.needs) & set(one.before)):
            problems.append(ReworkkitError("hold-point-both-ways", where=where, name=name, refs=in_short(both)))
    return problems


def ground_problems(facts: BoardFacts, lines: Mapping[tuple[str, ...], int]) -> list[ReworkkitError]:
    """Return what feeds, loads or puts at a voltage a net that is ground: by [board] ground, else by its name."""
    named = {
        "supplies": [net for net, one in facts.supplies.items() if one.volts is None or one.volts.value],
        "rails": [net for net, one in facts.rails.items() if one.volts and one.volts.value],
        "loads": list(facts.loads),
    }
    stated = facts.board.ground
    return [
        ReworkkitError(
            "facts-on-ground",
            where=(Where(BOARD_FILE, lines.get((section, net), lines.get((section,), 0))),),
            section=section,
            net=net,
        )
        for section, nets in named.items()
        for net in nets
        if (net in stated if stated else is_ground_name(net))
    ]
