"""board.toml: names the board does not have are told; hold points that contradict themselves are refused."""

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.read.board_facts import read_board_facts
from reworkkit.read.folder import read_board


def folder(tmp_path, facts):
    (tmp_path / "bom.csv").write_text("Designator,Value\nR1,10k\nU1,LM358\n", encoding="utf-8")
    (tmp_path / "board.toml").write_text(facts, encoding="utf-8")
    return tmp_path


def test_names_that_are_not_on_the_board(tmp_path):
    facts = '[parts]\n"R1-R3" = { dear = true }\n[[hold_points]]\nname = "a"\nneeds = ["U1"]\nbefore = ["U7"]\n'
    board = read_board(folder(tmp_path, facts + '[[fasten]]\nparts = ["Q9"]\n[[program]]\npart = "U8"\nat = "J1"\n'))
    told = {f.message.fact("section"): f.refs for f in board.findings if f.message.slug == "facts-names-not-there"}
    assert told == {"parts": ("R2", "R3"), "hold_points": ("U7",), "fasten": ("Q9",), "program": ("U8",)}


def test_makers_of_rails_and_parts_of_loads_that_are_not_on_the_board(tmp_path):
    facts = '[rails]\n"+5V" = { volts = "5 V", made_by = "U77" }\n"+3V3" = { volts = "3.3 V", made_by = "U1" }\n'
    board = read_board(folder(tmp_path, facts + '[loads]\n"+5V" = { amps = "10 mA", part = "LA9" }\n'))
    told = {f.message.fact("section"): f.refs for f in board.findings if f.message.slug == "facts-names-not-there"}
    assert told == {"rails": ("U77",), "loads": ("LA9",)}


def test_a_part_that_only_the_netlist_has_is_known(tmp_path):
    (tmp_path / "netlist.csv").write_text("Designator,Pin,Net\nJ9,1,GND\nR1,1,GND\n", encoding="utf-8")
    board = read_board(folder(tmp_path, "[parts]\nJ9 = { dear = true }\n"))
    assert not [f for f in board.findings if f.message.slug == "facts-names-not-there"]


def test_nets_that_the_netlist_does_not_have(tmp_path):
    (tmp_path / "netlist.csv").write_text("Designator,Pin,Net\nR1,1,GND\nR1,2,+5V\nU1,8,+5V\n", encoding="utf-8")
    facts = '[board]\nground = ["GND", "MASS"]\n[supplies]\n"+12V" = "12 V"\n[rails]\n"+5V" = "5 V"\n"+5v" = "5 V"\n'
    board = read_board(folder(tmp_path, facts + '[loads]\n"+3V3" = "1 mA"\n[nets]\nSENSE = { low = "0 V" }\n'))
    told = {
        f.message.fact("section"): (f.message.fact("nets"), f.where[0].line)
        for f in board.findings
        if f.message.slug == "facts-nets-not-there"
    }
    assert told == {
        "board.ground": ("MASS", 2),
        "supplies": ("+12V", 4),
        "rails": ("+5v", 7),
        "loads": ("+3V3", 9),
        "nets": ("SENSE", 11),
    }


def test_a_hold_point_fed_by_nets_that_are_not_there(tmp_path):
    (tmp_path / "netlist.csv").write_text("Designator,Pin,Net\nR1,1,GND\nR1,2,+5V\n", encoding="utf-8")
    facts = '[supplies]\n"+5V" = "5 V"\n[[hold_points]]\nname = "a"\nsupply = "+5V, V9"\n'
    found = [f for f in read_board(folder(tmp_path, facts)).findings if f.message.slug == "facts-nets-not-there"]
    assert [f.message.fact("nets") for f in found] == ["V9"]


def test_without_a_netlist_no_net_is_missed(tmp_path):
    board = read_board(folder(tmp_path, '[supplies]\n"+12V" = "12 V"\n'))
    assert not [f for f in board.findings if f.message.slug == "facts-nets-not-there"]


def test_a_stated_ground_frees_the_other_names(tmp_path):
    facts = read_board_facts(folder(tmp_path, '[board]\nground = ["GND"]\n[rails]\nAGND = "2.5 V"\n')).facts
    assert facts.rails["AGND"].volts is not None
    assert read_board_facts(folder(tmp_path, '[rails]\nGND = "0 V"\nVSS = "-5 V"\n')).facts.rails


def test_a_tip_without_width_is_refused_in_bench_toml_too(tmp_path):
    (tmp_path / "bench.toml").write_text('[tips.fine]\nwidth = "0 mm"\n', encoding="utf-8")
    with pytest.raises(ReworkkitError) as refused:
        read_board_facts(folder(tmp_path, ""))
    where = refused.value.where[0]
    assert (refused.value.message.slug, where.file, where.line) == ("facts-length-not-positive", "bench.toml", 2)


@pytest.mark.parametrize(
    ("facts", "slug", "line"),
    [
        ('[[hold_points]]\nname = "a"\n[[hold_points]]\nname = "A"\n', "hold-point-name-twice", 4),
        ('[[hold_points]]\nname = " "\n', "hold-point-no-name", 2),
        ('[[hold_points]]\nname = "a"\nneeds = ["U1-U3"]\nbefore = ["U2"]\n', "hold-point-both-ways", 2),
        ('[board]\nthickness = "0 mm"\n', "facts-length-not-positive", 2),
        ('[parts]\nR1 = { height = "-5 mm" }\n', "facts-length-not-positive", 2),
        ("[board]\nlayers = 0\n", "facts-layers", 2),
        ('[board]\nthickness = "160 mm"\n', "facts-out-of-range", 2),
        ('[board]\nouter_copper = "0 oz"\n', "facts-out-of-range", 2),
        ('[board]\ninner_copper = "90 oz"\n', "facts-out-of-range", 2),
        ('[board]\nlayers = 2\nrelief = "4 spokes 0 mm"\n', "facts-relief", 3),
        ('[parts]\nR1 = { joints = { 1 = { relief = "0 spokes 0.3 mm" } } }\n', "facts-relief", 2),
        ('[order]\ndwell_hole = "0 s"\n', "facts-out-of-range", 2),
        ('[order]\ndwell_tab = "-3 s"\n', "facts-out-of-range", 2),
        ('[bench]\npreheat = "-100 C"\n', "facts-out-of-range", 2),
        ('[bench.tips.fine]\npower = "0 W"\n', "facts-out-of-range", 2),
        ("[board]\nlayers = 99\n", "facts-layers", 2),
        ('[board]\nsize = "80 mm x 0 mm"\n', "facts-length-not-positive", 2),
        ('[supplies]\nGND = "12 V"\n', "facts-on-ground", 2),
        ('[rails]\n"+5V" = "5 V"\nagnd = "5 V"\n', "facts-on-ground", 3),
        ('[loads]\n0V = "10 mA"\n', "facts-on-ground", 2),
        ('[board]\nground = ["MASS"]\n[supplies]\nMASS = { limit = "1 A" }\n', "facts-on-ground", 4),
    ],
)
def test_facts_that_cannot_be_are_refused(tmp_path, facts, slug, line):
    with pytest.raises(ReworkkitError) as refused:
        read_board_facts(folder(tmp_path, facts))
    assert (refused.value.message.slug, refused.value.where[0].line) == (slug, line)
