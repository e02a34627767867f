"""The bare place is proven with the fewest probes: against every set of probes and every way copper can be broken."""

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from reworkkit.compute.bare_place import opened_places, prove_bare_places
from reworkkit.compute.bare_place.spanning import NetDoubt, fewest_probes
from reworkkit.compute.situation import situation_of_files
from reworkkit.model.board import Board
from reworkkit.model.job import PlaceState, SiteRecord, Situation
from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, PartState, Place, ReadingForm, SiteDamage
from reworkkit.read.folder import read_board

PROJECT = Path(__file__).resolve().parents[2]
NETS = 500


@pytest.fixture(scope="module")
def board() -> Board:
    return read_board(PROJECT / "example_boards" / "greenhouse-valves")


@pytest.fixture
def situation(board: Board) -> Situation:
    return situation_of_files(board, 1)


# Every way a net can fall apart is a partition of its pins. A set of probes proves the net if no partition in which all
# probes beep, and which keeps together what was never touched, has more than one piece. (independent)


def partitions(pins: list[str]) -> Iterator[list[set[str]]]:
    if not pins:
        yield []
        return
    for rest in partitions(pins[1:]):
        for n in range(len(rest)):
            yield [*rest[:n], rest[n] | {pins[0]}, *rest[n + 1 :]]
        yield [{pins[0]}, *rest]


def worlds(net: NetDoubt, known: tuple[tuple[str, str], ...]) -> list[list[set[str]]]:
    """Return the ways the copper can be, given what was not disturbed, what was read and which wires will be run."""
    sure = {pin for pin in net.pins if pin not in net.doubtful and pin not in net.lost}
    together = [sure, *(set(pair) for pair in known)]
    return [
        world
        for world in partitions(list(net.pins))
        if all(any(group <= piece for piece in world) for group in together)
    ]


def refuted(probes: tuple[tuple[str, str], ...], broken: list[list[set[str]]]) -> bool:
    return any(all(any({a, b} <= piece for piece in world) for a, b in probes) for world in broken)


def random_net(chance: random.Random) -> NetDoubt:
    count = chance.choice((2, 3, 3, 4, 4, 5, 5, 6))
    pins = tuple(f"P{n}.1" for n in range(count))
    doubtful = frozenset(pin for pin in pins if chance.random() < 0.6)
    lost = frozenset(pin for pin in pins if pin not in doubtful and chance.random() < 0.15)
    if len(lost) == count:
        lost = frozenset()
    joined = tuple(pair for pair in combinations(sorted(doubtful), 2) if chance.random() < 0.15)
    return NetDoubt(pins, doubtful, lost, joined, ())


def test_probes_are_the_fewest_on_random_nets() -> None:
    chance = random.Random(20260101)
    for _ in range(NETS):
        net = random_net(chance)
        proof = fewest_probes(net, lambda a, b: 1.0)
        broken = [world for world in worlds(net, (*net.joined, *proof.wires)) if len(world) > 1]
        assert not refuted(proof.probes, broken), net
        pairs = list(combinations(net.pins, 2))
        fewer = combinations(pairs, len(proof.probes) - 1) if proof.probes else ()
        assert all(refuted(some, broken) for some in fewer), net


def test_every_lost_pin_gets_one_wire_to_a_pin_that_is_there() -> None:
    chance = random.Random(7)
    for _ in range(NETS):
        net = random_net(chance)
        wires = fewest_probes(net, lambda a, b: 1.0).wires
        assert sorted(a for a, _ in wires) == sorted(net.lost)
        assert not {b for _, b in wires} & net.lost


def test_the_wire_is_the_shortest() -> None:
    far = {("A", "B"): 9.0, ("A", "C"): 4.0}
    net = NetDoubt(("A", "B", "C"), frozenset(), frozenset({"A"}))
    assert fewest_probes(net, lambda a, b: far[(a, b)]).wires == (("A", "C"),)


def test_the_wire_may_end_on_a_pin_that_is_still_to_be_probed() -> None:
    far = {("A", "B"): 9.0, ("A", "C"): 4.0}
    net = NetDoubt(("B", "C", "A"), frozenset({"B", "C"}), frozenset({"A"}))
    assert fewest_probes(net, lambda a, b: far[(a, b)]) == ((("C", "B"),), (("A", "C"),))


def test_a_pair_read_open_takes_a_wire_and_no_probe() -> None:
    net = NetDoubt(("TP1.1", "U1.1", "U1.2"), frozenset({"U1.1", "U1.2"}), parted=(("TP1.1", "U1.1"),))
    proof = fewest_probes(net, lambda a, b: 1.0)
    assert proof.wires == (("U1.1", "TP1.1"),)
    assert proof.probes == (("U1.2", "TP1.1"),)


# The broken pin of U5 on the example board: four pins, four nets (about.md).


def points(found: object) -> dict[str, str | None]:
    return {check.point.a: check.point.b for check in found.sheet.checks}  # type: ignore[attr-defined]


def read(point: str, text: str, value: float | None, event: int | None = None) -> Reading:
    form = ReadingForm.VALUE if value is not None else ReadingForm.OVER_RANGE
    return Reading(point, Mode.OHMS, form, value, "ohm", False, None, text, event)


def test_one_probe_for_each_pin_of_the_broken_sensor(board: Board, situation: Situation) -> None:
    proof = prove_bare_places(board, situation, ("U5",))
    assert list(points(proof)) == ["U5.1", "U5.2", "U5.3", "U5.4"]
    for check in proof.sheet.checks:
        ref, _, number = (check.point.b or "").rpartition(".")
        own = board.pins[("U5", check.point.a.rpartition(".")[2])].net
        assert ref != "U5"
        assert board.pins[(ref, number)].net == own
        assert check.why.slug == "bare-probe-hole"
    assert points(proof)["U5.2"] == "TP6.1"  # a test point is the best place to hold a probe


def test_a_lost_barrel_is_answered_with_a_wire(board: Board, situation: Situation) -> None:
    hurt = replace(situation, sites=(SiteRecord("U5.4", SiteDamage.BARREL_LOST, "", "e1"),))
    proof = prove_bare_places(board, hurt, ("U5",))
    assert "U5.4" not in points(proof)
    (wire,) = proof.wires
    assert (wire.net, wire.a) == ("GND", "U5.4")
    here = board.pins[("U5", "4")].pads[0]
    lengths = [
        ((pad.x_mm - here.x_mm) ** 2 + (pad.y_mm - here.y_mm) ** 2) ** 0.5
        for (ref, _), pin in board.pins.items()
        if pin.net == "GND" and ref != "U5" and ref in board.parts
        for pad in pin.pads
    ]
    assert wire.length_mm == pytest.approx(min(lengths), abs=0.05)
    repaired = replace(hurt, sites=(*hurt.sites, SiteRecord("U5.4", SiteDamage.WIRE_REPAIR, "", "e2")))
    assert "U5.4" in points(prove_bare_places(board, repaired, ("U5",)))


def test_a_lost_barrel_off_the_planes_puts_its_whole_net_in_doubt(board: Board, situation: Situation) -> None:
    hurt = replace(situation, sites=(SiteRecord("U5.2", SiteDamage.BARREL_LOST, "", "e1"),))
    proof = prove_bare_places(board, hurt, ("U5",))
    net = {f"{ref}.{number}" for ref, number in board.nets["CUR_OUT"].pins}
    assert [wire.a for wire in proof.wires] == ["U5.2"]
    assert len(net & set(points(proof))) == len(net) - 2  # a wire joins the lost pin, probes the rest
    hurt = replace(situation, sites=(SiteRecord("R7.1", SiteDamage.TRACK_CUT, "", "e1"),))
    found = points(prove_bare_places(board, hurt))
    assert len(net & set(found)) == len(net) - 1


def test_readings_prove_or_cut_off(board: Board, situation: Situation) -> None:
    hub = points(prove_bare_places(board, situation, ("U5",)))
    taken = (read(f"U5.1 to {hub['U5.1']}", "0.3 ohm", 0.3), read(f"{hub['U5.2']} to U5.2", "OL", None))
    proof = prove_bare_places(board, replace(situation, readings=taken), ("U5",))
    assert list(points(proof)) == ["U5.3", "U5.4"]
    assert len(proof.proven) == 1
    assert [wire.a for wire in proof.wires] == ["U5.2"]


def test_a_reading_before_the_part_came_off_proves_nothing(board: Board, situation: Situation) -> None:
    off = PlaceState("U5", Place.EMPTY, steps_done=frozenset({"desolder"}), changed=12)
    hub = points(prove_bare_places(board, situation, ("U5",)))["U5.1"]
    for event, left in ((11, 4), (13, 3)):
        taken = (read(f"U5.1 to {hub}", "0.2 ohm", 0.2, event),)
        now = replace(situation, states={**situation.states, "U5": off}, readings=taken)
        assert len(prove_bare_places(board, now, ("U5",)).sheet.checks) == left


@pytest.mark.parametrize("form", [ReadingForm.JUMPS, ReadingForm.RISING])
def test_a_display_that_is_not_still_proves_nothing(board: Board, situation: Situation, form: ReadingForm) -> None:
    hub = points(prove_bare_places(board, situation, ("U5",)))["U5.1"]
    taken = (replace(read(f"U5.1 to {hub}", "jumps", None), form=form),)
    proof = prove_bare_places(board, replace(situation, readings=taken), ("U5",))
    assert len(proof.sheet.checks) == 4
    assert not proof.wires


def test_places_that_come_off_are_found(board: Board, situation: Situation) -> None:
    found = opened_places(board, situation)
    assert {"U5", "D8", "R8", "D5", "W1"} <= set(found)
    assert "R21" not in found  # nothing goes back there
    assert situation.states["U5"].part is PartState.DAMAGED


def test_without_netlist_nothing_is_guessed(board: Board, situation: Situation) -> None:
    proof = prove_bare_places(replace(board, nets={}, pins={}), situation, ("U5",))
    assert not proof.sheet.checks
    assert proof.sheet.not_judged[0].about == ("U5",)
