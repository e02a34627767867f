"""The netlist reader against the standard's columns, real files, and what exporters do to both."""

import csv
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Finding
from reworkkit.model.vocabulary import Severity, Side
from reworkkit.read.netlist import NetlistFile, read_netlist
from reworkkit.read.netlist_records import outline_points, parse_record
from reworkkit.read.placement import read_placement

NOTE_AN40 = "IPC-D-356A format note, application note AN40 (columns); example constructed from it"
INCH_MM = 25.4

EXAMPLE_A = """\
P  JOB   DEMO-A
P  UNITS CUST 0
P  VER   IPC-D-356A
P  IMAGE PRIMARY
P  NNAME00001 BUCK_CONVERTER_FEEDBACK_NODE
317GND              C1    -1    D0380PA00X+012500Y+008000X0620Y0000     S0
327NNAME00001       U1    -5          A01X+014350Y+007900X0240Y0590R090 S0
317NNAME00001       VIA   -    MD0120PA00X+015000Y+007900X0240Y0000     S3
367N/C              H1    -1    D1260UA00X+001000Y+001000
999
"""
EXAMPLE_B = """\
P  UNITS CUST 1
P  IMAGE PRIMARY
317VBUS             J1    -1    D1000PA00X+010160Y+025400X1700Y1700     S0
327VBUS             D1    -2          A01X-003300Y+025400X1000Y1200R000 S0
999
"""
EXAMPLE_C = """\
P  UNITS CUST
P  IMAGE PRIMARY
327NET1             U2    -16         A01X+009750Y+062880X1200Y0200     S0
027NET1             U2    -16         A04X+009750Y+062880X1200Y0200     S0
017NET1                         D0150PA00X+009450Y+062880
389BOARD_EDGE       X0100Y0 X+000000Y+000000 X+040000 Y+030000 X+000000 Y+000000
999
"""


@pytest.fixture
def read(tmp_path: Path):
    def from_text(text: str | bytes, known: tuple[str, ...] = ()) -> NetlistFile:
        path = tmp_path / "netlist.ipc"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_netlist(path, "netlist.ipc", known)

    return from_text


def record(net: str, ref: str, pin: str, x: int = 1000, y: int = 2000) -> str:
    return f"327{net:<14}   {ref:<6}-{pin:<4}       A01X{x:+07d}Y{y:+07d}X0500Y0500R000S0"


def netlist(*records: str, units: str = "P  UNITS CUST 0\n", end: str = "999\n") -> str:
    return units + "\n".join(records) + "\n" + end


def slugs(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.message.slug for finding in findings]


class TestStandard:
    def test_inch_example(self, read, published) -> None:
        got = read(EXAMPLE_A)
        c1 = got.pins["C1", "1"]
        land = c1.pads[0]
        where = {"source": NOTE_AN40, "tolerance": 1e-9}
        published("C1 pin 1, x in mm", land.x_mm, 1.2500 * INCH_MM, **where)
        published("C1 pin 1, y in mm", land.y_mm, 0.8000 * INCH_MM, **where)
        published("C1 pin 1, hole in mm", land.drill_mm, 0.0380 * INCH_MM, **where)
        published("C1 pin 1, round land, width in mm", land.width_mm, 0.0620 * INCH_MM, **where)
        published("C1 pin 1, round land, height in mm", land.height_mm, 0.0620 * INCH_MM, **where)
        published("C1 pin 1, net", c1.net, "GND", source=NOTE_AN40)
        assert (land.plated, land.side) == (True, Side.BOTH)

        u1 = got.pins["U1", "5"]
        published("U1 pin 5, long name of its net", u1.net, "BUCK_CONVERTER_FEEDBACK_NODE", source=NOTE_AN40)
        published("U1 pin 5, width in mm", u1.pads[0].width_mm, 0.024 * INCH_MM, **where)
        published("U1 pin 5, height in mm", u1.pads[0].height_mm, 0.059 * INCH_MM, **where)
        published("U1 pin 5, turn in degrees", u1.pads[0].rotation_deg, 90.0, source=NOTE_AN40)
        published("U1 pin 5, side", u1.pads[0].side, Side.TOP, source=NOTE_AN40)

        h1 = got.pins["H1", "1"]
        published("H1, unplated hole in mm", h1.pads[0].drill_mm, 3.2004, **where)
        assert (h1.net, h1.pads[0].plated) == (None, False)
        assert set(got.nets) == {"GND", "BUCK_CONVERTER_FEEDBACK_NODE"}
        assert got.findings == ()
        assert got.input_file.role == "netlist"

    def test_millimetre_example(self, read, published) -> None:
        got = read(EXAMPLE_B)
        land = got.pins["J1", "1"].pads[0]
        figures = (land.x_mm, land.y_mm, land.drill_mm, land.width_mm, land.height_mm)
        published("J1 pin 1: x, y, hole, width, height in mm", figures, (10.16, 25.4, 1.0, 1.7, 1.7), source=NOTE_AN40)
        diode = got.pins["D1", "2"].pads[0]
        published("D1 pin 2: x, y in mm", (diode.x_mm, diode.y_mm), (-3.3, 25.4), source=NOTE_AN40)

    def test_continuations_and_outline(self, read, published) -> None:
        got = read(EXAMPLE_C)
        pads = got.pins["U2", "16"].pads
        published(
            "U2 pin 16, sides of its lands", [p.side for p in pads[:2]], [Side.TOP, Side.BOTTOM], source=NOTE_AN40
        )
        where = {"source": NOTE_AN40, "tolerance": 1e-9}
        published("U2 pin 16, hole in mm", pads[2].drill_mm, 0.015 * INCH_MM, **where)
        published("U2 pin 16, hole, x in mm", pads[2].x_mm, 0.9450 * INCH_MM, **where)
        published("U2 pin 16, hole, y in mm", pads[2].y_mm, 6.2880 * INCH_MM, **where)
        corners = [(round(x / INCH_MM, 6), round(y / INCH_MM, 6)) for x, y in got.outline]
        published("outline in inches", corners, [(0, 0), (4, 0), (4, 3), (0, 3), (0, 0)], source=NOTE_AN40)
        assert [m.slug for m in got.input_file.assumed] == ["netlist-unit-digit-missing"]


class TestRealFiles:
    def test_refs_and_nets_are_those_counted_by_hand(self, real_boards: Path) -> None:
        """Source: OVERLAP.tsv beside the files, counted by hand."""
        with (real_boards / "OVERLAP.tsv").open(encoding="utf-8", newline="") as handle:
            boards = list(csv.DictReader(handle, delimiter="\t"))
        assert len(boards) == 7
        for row in boards:
            path = next(p for p in (real_boards / "netlist").iterdir() if f"__{row['board']}" in p.name or _is(row, p))
            got = read_netlist(path, path.name)
            no_net = any(line[3:6] == "N/C" for line in path.read_text(encoding="latin-1").splitlines())
            assert len({ref for ref, _ in got.pins}) == int(row["refs in netlist"]), path.name
            assert len(got.nets) + no_net == int(row["nets"]), f"{path.name}: N/C is counted as a net there"
            assert [f for f in got.findings if f.severity is not Severity.NOTE] == []

    def test_every_cut_designator_of_the_lists_is_found_again(self, real_boards: Path) -> None:
        """Source: OVERLAP.tsv, whose list designators are all in the netlist where cut to six characters."""
        lines = (real_boards / "OVERLAP.tsv").read_text(encoding="utf-8").splitlines()
        for row in csv.DictReader(lines, delimiter="\t"):
            if row["BOM refs (cut to 6 chars) not in netlist"] != "[]":
                continue
            path = next(p for p in (real_boards / "netlist").iterdir() if f"__{row['board']}" in p.name or _is(row, p))
            placed = path.name.rpartition("__")[0] + "__positions.csv"
            known = read_placement(real_boards / "placement" / placed, placed).placements
            assert known.keys() <= {ref for ref, _ in read_netlist(path, path.name, known).pins}, path.name


def _is(row: dict[str, str], path: Path) -> bool:
    words = {"VCO": "-VCO__", "tomu": "tomu-", "Hydros": "Hydros"}
    return words.get(row["board"], "?") in path.name


class TestDialects:
    def test_no_unit_is_assumed_and_said(self, read) -> None:
        got = read(netlist(record("GND", "C1", "1", 10000), units=""))
        assert [m.slug for m in got.input_file.assumed] == ["netlist-unit-assumed"]
        assert got.pins["C1", "1"].pads[0].x_mm == pytest.approx(25.4)

    def test_si_is_thousandths_of_a_millimetre(self, read) -> None:
        got = read(netlist(record("GND", "C1", "1", 10000), units="P  UNITS SI\n"))
        assert got.pins["C1", "1"].pads[0].x_mm == 10.0

    def test_crlf_and_blank_lines_change_nothing(self, read) -> None:
        assert read(EXAMPLE_A.replace("\n", "\r\n\r\n")).nets == read(EXAMPLE_A).nets

    def test_trailing_blanks_cut_and_none_left(self, read) -> None:
        padded = "\n".join(line.ljust(80) for line in EXAMPLE_A.splitlines()) + "\n"
        padded = padded.replace("999" + " " * 77, "999")
        assert [p._replace(where=None) for p in read(padded).pins.values()] == [
            p._replace(where=None) for p in read(EXAMPLE_A).pins.values()
        ]

    @pytest.mark.parametrize("junk", ["S-1321515021", "S3", "S", "", "  S0 trailing words"])
    def test_junk_behind_the_geometry_is_passed_over(self, read, junk: str) -> None:
        got = read(netlist(record("GND", "C1", "1").removesuffix("S0") + junk))
        assert (got.pins["C1", "1"].net, got.findings) == ("GND", ())

    def test_alias_with_and_without_prefix(self, read) -> None:
        name = "P  NNAME00007 VERY_LONG_NAME_OF_A_NET\n"
        got = read(netlist(record("NNAME00007", "U1", "1"), units="P  UNITS CUST 0\n" + name))
        bare = read(netlist(record("00007", "U1", "1"), units="P  UNITS CUST 0\n" + name))
        assert got.pins["U1", "1"].net == bare.pins["U1", "1"].net == "VERY_LONG_NAME_OF_A_NET"

    def test_two_aliases_of_one_name_stay_two_nets(self, read) -> None:
        names = "P  UNITS CUST 0\nP  NNAME00001 SAME_NAME\nP  NNAME00002 SAME_NAME\n"
        got = read(netlist(record("NNAME00001", "U1", "1"), record("NNAME00002", "U1", "2"), units=names))
        assert got.pins["U1", "1"].net != got.pins["U1", "2"].net

    def test_seven_digits(self, read) -> None:
        line = "327GND              C1    -1          A01X+0012500Y-0008000X0500Y0500R000S0"
        pad = read(netlist(line)).pins["C1", "1"].pads[0]
        assert (pad.x_mm, pad.y_mm) == (pytest.approx(31.75), pytest.approx(-20.32))

    def test_blank_sign_and_blank_leading_zeros(self, read) -> None:
        line = "317GND              C1    -1    D 380PA00X  12500Y-  8000X 620Y   0R   S0"
        pad = read(netlist(line)).pins["C1", "1"].pads[0]
        assert (pad.x_mm, pad.y_mm, pad.drill_mm) == (31.75, -20.32, pytest.approx(0.9652))

    @pytest.mark.parametrize(
        "line",
        [
            "327GND               C1    -1          A01X+012500Y+008000X0500Y0500R000S0",
            "327GND             C1    -1          A01X+012500Y+008000X0500Y0500R000S0",
            "327GND              C1    -1           A01X+012500Y+008000X0500Y0500R000S0",
        ],
    )
    def test_fields_one_column_off(self, read, line: str) -> None:
        got = read(netlist(line))
        assert got.pins["C1", "1"].net == "GND"
        assert slugs(got.findings) == ["netlist-shifted"]

    def test_designators_with_blanks(self, read) -> None:
        got = read(netlist(record("GND", "SWD he", "1"), record("GND", "USB po", "1")), ("USB port",))
        assert {ref for ref, _ in got.pins} == {"SWDHE", "USBPORT"}

    def test_vias_are_no_pins_and_their_nets_stay(self, read) -> None:
        got = read(netlist("317PLANE            VIA        MD0118PA00X+002699Y+003244X0236Y0000R000S3"))
        assert (got.pins, list(got.nets)) == ({}, ["PLANE"])

    def test_comments_and_unused_records_are_silent(self, read) -> None:
        text = netlist("C  a remark", "378NET1          L01 X0150 X+001000Y+001000", record("GND", "C1", "1"))
        assert read(text).findings == ()

    def test_other_images_are_left_out(self, read) -> None:
        text = netlist("P  IMAGE PRIMARY", record("GND", "C1", "1"), "P  IMAGE PANEL", record("GND", "FID1", "1"))
        got = read(text)
        assert (list(got.pins), slugs(got.findings)) == ([("C1", "1")], ["netlist-other-images"])

    def test_nothing_after_the_end_counts(self, read) -> None:
        assert list(read(EXAMPLE_A + record("GND", "C9", "1") + "\n").pins) == list(read(EXAMPLE_A).pins)


class TestCutNames:
    def test_one_longer_designator_is_restored(self, read) -> None:
        got = read(netlist(record("GND", "BUZZER", "1")), ("BUZZER1", "C1"))
        assert ("BUZZER1", "1") in got.pins
        assert slugs(got.findings) == ["netlist-refs-restored"]

    def test_a_known_six_letter_designator_stays(self, read) -> None:
        got = read(netlist(record("GND", "LED101", "1")), ("LED101", "LED10"))
        assert (list(got.pins), got.findings) == ([("LED101", "1")], ())

    def test_two_longer_designators_are_a_finding(self, read) -> None:
        got = read(netlist(record("A", "CON_RO", "1"), record("B", "CON_RO", "1")), ("CON_ROT1", "CON_ROT2"))
        assert slugs(got.findings) == ["netlist-ref-ambiguous"]
        assert {pin.net for pin in got.pins.values()} == {"A", "B"}

    def test_pins_cut_to_four_characters_keep_their_nets(self, read) -> None:
        got = read(netlist(record("A", "J1", "PIN_"), record("B", "J1", "PIN_")))
        assert {number: pin.net for (_, number), pin in got.pins.items()} == {"PIN_": "A", "PIN_~2": "B"}
        assert slugs(got.findings) == ["netlist-pins-cut"]

    def test_one_pin_on_two_nets_is_a_contradiction(self, read) -> None:
        got = read(netlist(record("A", "U1", "1"), record("B", "U1", "1")))
        assert [(f.message.slug, f.severity, f.refs) for f in got.findings] == [
            ("netlist-pin-on-two-nets", Severity.CHECK, ("U1",))
        ]

    def test_several_lands_of_one_pin_are_one_pin(self, read) -> None:
        got = read(netlist(record("GND", "Q1", "4", 1000), record("GND", "Q1", "4", 3000)))
        assert len(got.pins["Q1", "4"].pads) == 2


class TestBadInput:
    def test_damaged_lines_are_one_finding_with_their_places(self, read) -> None:
        got = read(netlist(record("GND", "C1", "1"), "327GND              C2    -1          A01X+01", "what is this"))
        finding = next(f for f in got.findings if f.message.slug == "netlist-lines-unreadable")
        assert [str(where) for where in finding.where] == ["netlist.ipc:3", "netlist.ipc:4"]

    def test_a_file_cut_short_is_said(self, read) -> None:
        assert slugs(read(netlist(record("GND", "C1", "1"), end="")).findings) == ["netlist-no-end"]

    def test_an_impossible_size_is_said(self, read) -> None:
        got = read(netlist(record("GND", "C1", "1", 0), record("GND", "C2", "1", 999_999)))
        assert slugs(got.findings) == ["netlist-too-large"]

    @pytest.mark.parametrize("text", ["Dear Sir,\nhere is a letter.\n", "a;b\n1;2\n", "{}", "<html></html>"])
    def test_something_else_is_refused(self, read, text: str) -> None:
        with pytest.raises(ReworkkitError) as caught:
            read(text)
        assert caught.value.message.slug == "not-a-netlist"

    def test_bytes_of_a_picture_are_refused(self, read) -> None:
        with pytest.raises(ReworkkitError):
            read(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x01\0")

    @settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(data=st.data())
    def test_any_damage_to_a_file_is_read_or_refused(self, tmp_path: Path, data) -> None:
        """Invariant: no damage to a real file ends in anything but a result or a ReworkkitError."""
        text = list(EXAMPLE_A + EXAMPLE_C)
        for _ in range(data.draw(st.integers(1, 8))):
            at = data.draw(st.integers(0, len(text) - 1))
            text[at : at + data.draw(st.integers(0, 3))] = data.draw(st.text('X+-Y 0123459,;"\tµ\n', max_size=4))
            text = text or [" "]
        path = tmp_path / "damaged.ipc"
        path.write_text("".join(text), encoding="utf-8")
        try:
            got = read_netlist(path, "damaged.ipc", ("C1", "U1"))
        except ReworkkitError:
            return
        assert all(pin.net in got.nets for pin in got.pins.values() if pin.net is not None)
        for net in got.nets.values():
            assert all(got.pins[key].net == net.name for key in net.pins)


class TestTable:
    def test_designator_pin_net(self, read) -> None:
        got = read("Designator,Pin,Net\nR1,1,GND\nR1,2,VOUT\nU1,3,\n")
        assert {key: pin.net for key, pin in got.pins.items()} == {
            ("R1", "1"): "GND",
            ("R1", "2"): "VOUT",
            ("U1", "3"): None,
        }
        assert got.nets["GND"].pins == (("R1", "1"),)
        assert got.pins["R1", "2"].where.line == 3

    @pytest.mark.parametrize("cut", ["net,pins\n{}", "{}"])
    def test_pins_called_plus_and_minus(self, read, cut: str) -> None:
        lines = ("V,C1.+ PS1.+VIN R1.1", "GND,C1.- PS1.-VIN R1.2", "OUT,U1.OUT U1.IN- R2.1")
        text = "\n".join(lines if "net" in cut else (line.replace(",", ": ") for line in lines))
        found = read(cut.format(text) + "\n", ("C1", "PS1", "R1", "R2", "U1")).pins
        assert {key: pin.net for key, pin in found.items() if key[1][0] in "+-" or key[1][-1] in "+-"} == {
            ("C1", "+"): "V",
            ("C1", "-"): "GND",
            ("PS1", "+VIN"): "V",
            ("PS1", "-VIN"): "GND",
            ("U1", "IN-"): "OUT",
        }

    @pytest.mark.parametrize(
        "text",
        [
            "designator;pin;net\nR1;1;GND\nR1;2;VOUT\n",
            "Net\tRef Des\tPin Number\nGND\tR1\t1\nVOUT\tR1\t2\n",
            '"Reference","Pad","Signal"\r\n"r1","1","GND"\r\n"r1","2","VOUT"\r\n',
            "Net,Pins\nGND,R1.1\nVOUT,R1.2\n",
            "Net,Node\nGND,R1-1\nVOUT,R1-2\n",
            "ref,pin,node\nR1,1,GND\nR1,2,VOUT\n",
            "Designator,Pin Name,Net Name\nR1,1,GND\nR1,2,VOUT\n",
        ],
    )
    def test_spellings_read_alike(self, read, text: str) -> None:
        got = read(text, ("R1",))
        assert {key: pin.net for key, pin in got.pins.items()} == {("R1", "1"): "GND", ("R1", "2"): "VOUT"}

    @pytest.mark.parametrize(
        "text",
        [
            "part,leg,runs to\nR1,1,GND\nR1,2,VOUT\nR2,1,VOUT\nR2,2,GND\n",
            "R1;1;GND\nR1;2;VOUT\nR2;1;VOUT\nR2;2;GND\n",
            "nr\tpen\tnet\tnaam\nR1\t1\tGND\ta\nR1\t2\tVOUT\tb\nR2\t1\tVOUT\ta\nR2\t2\tGND\tb\n",
        ],
    )
    def test_columns_told_by_their_cells(self, read, text: str) -> None:
        found = read(text, ("R1", "R2"))
        assert {key: pin.net for key, pin in found.pins.items()} == {
            ("R1", "1"): "GND",
            ("R1", "2"): "VOUT",
            ("R2", "1"): "VOUT",
            ("R2", "2"): "GND",
        }
        assert "netlist-columns-by-cells" in {finding.message.slug for finding in found.findings}

    def test_designators_under_name_are_no_names_of_pins(self, read) -> None:
        found = read("Name;Pin;Net\nQ1;C;OUT\nQ1;B;IN\nQ1;E;GND\nR1;1;OUT\nR1;2;IN\n", ("Q1", "R1")).pins
        assert [found["Q1", pin].name for pin in "CBE"] == [None, None, None]

    @pytest.mark.parametrize("heading", ["Nome piedino", "PinName", "Naam", "remark"])
    def test_names_of_pins_under_many_headings(self, read, heading: str) -> None:
        found = read(f"RefDes,PinNumber,NetName,{heading}\nU1,1,VIN,IN\nU1,2,GND,GND\nU1,3,V5,OUT\n", ("U1",)).pins
        assert [found["U1", number].name for number in "123"] == ["IN", "GND", "OUT"]

    def test_names_of_pins_written_out_are_those_of_the_sheets(self, read) -> None:
        found = read("Bauteil;Pin;Netz;Name\nQ1;1;A;Kollektor\nQ1;2;B;Basis\nQ1;3;GND;émetteur\n", ("Q1",)).pins
        assert [found["Q1", number].name for number in "123"] == ["C", "B", "E"]

    def test_row_without_pin_is_a_finding(self, read) -> None:
        got = read("Designator,Pin,Net\nR1,1,GND\nR1,,VOUT\n")
        assert [(f.message.slug, str(f.where[0])) for f in got.findings] == [
            ("netlist-rows-incomplete", "netlist.ipc:3")
        ]

    def test_pin_of_the_longest_known_designator(self, read) -> None:
        got = read("Net,Pins\nGND,J1.2.5 R1.1\n", ("J1", "J1.2", "R1"))
        assert set(got.pins) == {("J1.2", "5"), ("R1", "1")}


def test_five_thousand_pins_in_half_a_second(read) -> None:
    text = netlist(*(record(f"N{n // 4}", f"U{n // 20}", str(n % 20), n * 7 % 90000) for n in range(5000)))
    assert len(read(text).pins) == 5000
    taken = []
    for _ in range(3):
        start = time.process_time()
        read(text)
        taken.append(time.process_time() - start)
    assert min(taken) < 0.5, "the best of three: a busy machine takes longer"


def test_record_fields_stand_where_the_standard_puts_them() -> None:
    """Independent: each field put at its column by slicing, then read back."""
    line = list(" " * 80)
    for column, text in ((1, "317"), (4, "NET_OF_14_CHAR"), (21, "ABCDEF"), (27, "-"), (28, "1234"), (32, "M")):
        line[column - 1 : column - 1 + len(text)] = text
    for column, text in ((33, "D0380P"), (39, "A00"), (42, "X+012500Y-008000X0620Y0100R045"), (73, "S3")):
        line[column - 1 : column - 1 + len(text)] = text
    got = parse_record("".join(line), 7)
    assert got is not None
    assert (got.net, got.ref, got.pin, got.drill, got.plated, got.access) == (
        "NET_OF_14_CHAR",
        "ABCDEF",
        "1234",
        380,
        True,
        0,
    )
    assert (got.x, got.y, got.size_x, got.size_y, got.rotation) == (12500, -8000, 620, 100, 45)
    assert (got.ref_full, got.shifted, got.line) == (True, False, 7)


def test_outline_goes_on_over_records() -> None:
    first, at = outline_points("389BOARD_EDGE       X0100Y0 X+000000Y+000000 X+040000", (0, 0))
    second, _ = outline_points("089                 Y+030000 X+000000", at)
    assert first + second == [[(0, 0), (40000, 0)], [(40000, 30000), (0, 30000)]]
