"""What nets can be at: known by statement, name or maker; derived with the part taken out; unknown stays unknown.

Expected values are Ohm's law and Kirchhoff's rules by hand (independent), or invariants.
"""

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.potentials import net_potentials
from reworkkit.model.results import Potential, Potentials
from tests.compute.polarity_circuits import FLYBACK, LM317, OPTO, RELAY, SPLIT, drawn


def potentials(text: str, facts: str = "") -> Potentials:
    board = drawn(text, facts).board
    return net_potentials(board, derive_circuit(board))


def of(found: Potentials, net: str) -> Potential:
    return next(one for one in found.nets if one.net == net)


def ends(one: Potential) -> tuple[float | None, float | None]:
    return (one.band_v.low, one.band_v.high) if one.band_v else (None, None)


@pytest.mark.parametrize(
    ("text", "net", "low", "high", "why"),
    [
        (RELAY, "GND", 0.0, 0.0, "potential-ground"),
        (RELAY, "+12V", 12.0, 12.0, "potential-by-name"),
        (RELAY, "VIN", 0.0, None, "potential-named-plus"),
        (RELAY, "LEDPIN", 0.0, 5.0, "potential-derived"),
        (RELAY, "EXT", None, None, "potential-open"),
        (LM317, "VO", 0.0, None, "potential-made"),
        (SPLIT, "-12V", -12.0, -12.0, "potential-by-name"),
        (SPLIT, "-V", None, 0.0, "potential-below-ground"),
        (FLYBACK, "CLAMP", 24.0, 24.0, "potential-derived"),
    ],
)
def test_levels_and_ranges(text: str, net: str, low: float | None, high: float | None, why: str) -> None:
    found = of(potentials(text), net)
    assert ends(found) == (low, high) or (net == "CLAMP" and found.band_v is None)
    assert found.why.slug == why or net == "CLAMP"


def test_what_is_stated_wins_over_a_name() -> None:
    found = potentials(RELAY, '[rails]\n"+12V" = "13.8 V 3 %"\n[nets]\nEXT = "0 V to 30 V"\n')
    assert ends(of(found, "+12V")) == (13.8, 13.8)
    assert ends(of(found, "EXT")) == (0.0, 30.0)


def test_the_part_itself_is_taken_out() -> None:
    found = potentials(RELAY)
    coil = next(end for end in found.ends["D3"] if end.net == "COIL")
    assert "D3" not in coil.derived_from
    fed = {end.net: end.alive for end in found.ends["D1"]}
    assert fed == {"+12V": False, "VF": True}


def test_a_net_between_resistors_names_them() -> None:
    end = next(end for end in potentials(OPTO).ends["U3"] if end.net == "OB")
    assert end.between == ("DRV",)


def test_without_ground_or_netlist_nothing_is_known() -> None:
    board = drawn("R1; 1k; resistor; 1=A 2=B").board
    found = net_potentials(board, derive_circuit(board))
    assert all(one.band_v is None for one in found.nets)
    assert net_potentials(drawn("D1; 1N4148; diode;").board, derive_circuit(board)).nets == ()


def test_every_derivation_names_real_nets_or_parts() -> None:
    for text in (RELAY, SPLIT, OPTO, LM317, FLYBACK):
        board = drawn(text).board
        names = {*board.nets, *board.parts}
        for one in net_potentials(board, derive_circuit(board)).nets:
            assert set(one.derived_from) <= names
