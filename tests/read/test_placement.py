"""The placement reader: real files by count, one board in several spellings, units, sides, damage."""

import csv
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ReworkkitError
from reworkkit.model.netlist import Placement
from reworkkit.model.vocabulary import Severity, Side
from reworkkit.read.folder import read_board
from reworkkit.read.placement import PlacementFile, read_placement

INCH_MM = 25.4  # exact, international inch of 1959

PARTS = (("C1", 12.7, 25.4, 90.0, "top"), ("R10", 30.48, 10.16, 270.0, "bottom"), ("U2", 40.64, 5.08, 0.0, "top"))
EXPECTED = {ref: (x, y, turn, side) for ref, x, y, turn, side in PARTS}


@pytest.fixture
def read(tmp_path: Path):
    def from_text(text: str, name: str = "placement.csv", known: tuple[str, ...] = (), **told) -> PlacementFile:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8", newline="")
        return read_placement(path, name, known, **told)

    return from_text


def facts(placement: Placement) -> tuple[float, float, float, str]:
    return (round(placement.x_mm, 4), round(placement.y_mm, 4), placement.rotation_deg, placement.side.value)


def slugs(file: PlacementFile) -> list[str]:
    return [finding.message.slug for finding in file.findings]


def assumed(file: PlacementFile) -> list[str]:
    return [said.slug for said in file.input_file.assumed]


def table(cells: str, heading: str = "Designator,X,Y,Rotation,Side") -> str:
    return f"{heading}\n{cells}\n"


SPELLINGS = {
    "comma, mm in the heading": "Designator,X (mm),Y (mm),Rotation,Side\n"
    "C1,12.7,25.4,90,top\nR10,30.48,10.16,270,bottom\nU2,40.64,5.08,0,top\n",
    "semicolon, decimal comma": "RefDes;Mid X;Mid Y;Rot;Layer;Unit\n"
    "C1;12,7;25,4;90,0;T;mm\nR10;30,48;10,16;-90,0;B;mm\nU2;40,64;5,08;360;T;mm\n",
    "tab, mil beside each figure": "Ref\tPosX\tPosY\tAngle\tSide\n"
    "C1\t500mil\t1000mil\t90\tTopLayer\nR10\t1200mil\t400mil\t270\tBottomLayer\nU2\t1600mil\t200mil\t0\tTopLayer\n",
    "preamble in inches": "Made for the placing machine,,,,\nMeasurements are in inches.,,,,\n,,,,\n"
    "RefDes,Layer,LocationX,LocationY,Rotation\nC1,Top,0.5,1.0,90\nR10,Bottom,1.2,0.4,270\nU2,Top,1.6,0.2,0\n",
    "both coordinates in one cell": "Designator;Position (mm);Rotation;Side\n"
    "C1;(12.7 25.4);90;front\nR10;(30.48 10.16);270;back\nU2;(40.64 5.08);0;front\n",
    "bare commas under the headings": "Designator,Mid X,Mid Y,Layer,Rotation\n,,,,\n"
    '"C1","12.7mm","25.4mm","top","90"\n"R10","30.48mm","10.16mm","bottom","270"\n"U2","40.64mm","5.08mm","top","0"\n',
    "columns of text": "### Positions of the parts ###\n## Unit = mm, Angle = deg.\n## Side : all\n"
    "# Ref     Val                  Package        PosX       PosY       Rot  Side\n"
    "C1        1uF, 10V, X5R, 0402  C_0402      12.7000    25.4000   90.0000  top\n"
    "R10       100 Ohm, 1%, 1/16W   R_0402      30.4800    10.1600  -90.0000  bottom\n"
    "U2        valve driver IC      SO 8        40.6400     5.0800    0.0000  top\n## End\n",
    "mirror column, German": "Bauteil;X-Koordinate (mm);Y-Koordinate (mm);Drehung;Mirror\n"
    "C1;12,7;25,4;90;no\nR10;30,48;10,16;270;yes\nU2;40,64;5,08;0;no\n",
    "turned cells with a letter": "Designator,X(mm),Y(mm),Rotation\n"
    "C1,12.7,25.4,R90\nR10,30.48,10.16,MR270\nU2,40.64,5.08,R0\n",
}


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_one_board_in_many_spellings(read, spelling: str) -> None:
    got = read(SPELLINGS[spelling])
    assert {ref: facts(placement) for ref, placement in got.placements.items()} == EXPECTED
    assert got.findings == ()


class TestRealFiles:
    def test_rows_are_those_counted_by_hand(self, real_boards: Path) -> None:
        """Source: INDEX.tsv beside the files, counted by hand."""
        with (real_boards / "INDEX.tsv").open(encoding="utf-8", newline="") as handle:
            rows = [row for row in csv.DictReader(handle, delimiter="\t") if row["kind"] == "placement"]
        for row in rows:
            path = real_boards / row["local file"]
            got = read_placement(path, path.name)
            assert len(got.placements) == int(row["rows"]), path.name
            assert [f for f in got.findings if f.severity is not Severity.NOTE] == []
            assert all(0 <= p.rotation_deg < 360 for p in got.placements.values())

    def test_two_exports_of_one_board_agree(self, real_boards: Path) -> None:
        """Independent: the same board written by two exporters (column text and comma text)."""
        folder = real_boards / "placement"
        pairs = [(p, p.with_name(p.stem + "-pos.csv")) for p in sorted(folder.glob("*-all.pos"))]
        pairs += [
            (p, p.with_name(p.name.replace("-bottom.pos", "-pnp.csv"))) for p in sorted(folder.glob("*-bottom.pos"))
        ]
        assert len(pairs) == 2
        for first, second in pairs:
            a, b = (read_placement(path, path.name).placements for path in (first, second))
            assert a.keys() == b.keys()
            for ref, placement in a.items():
                assert placement.x_mm == pytest.approx(b[ref].x_mm, abs=1e-4)
                assert placement.y_mm == pytest.approx(b[ref].y_mm, abs=1e-4)
                assert (placement.rotation_deg, placement.side) == (b[ref].rotation_deg, b[ref].side)


class TestUnits:
    @pytest.mark.parametrize(
        "line",
        ["Units used: mil", "unit = mils", "All dimensions in mil", "Einheit: mil", '"Units: thou"', "Units,mil"],
    )
    def test_line_above_the_headings(self, read, line: str) -> None:
        got = read(f"{line}\n\nDesignator,X,Y,Rotation,Side\nC1,500,1000,90,top\nC2,600,1000,90,top\n")
        assert got.placements["C1"].x_mm == pytest.approx(0.5 * INCH_MM)
        assert "placement-unit-from-file" in assumed(got)

    @pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("mil", INCH_MM / 1000), ("inch", INCH_MM)])
    def test_stated_nowhere_it_is_found_by_area_and_said(self, read, unit: str, mm: float) -> None:
        """Independent: one board of 60 mm x 40 mm with 48 parts, written in each unit without saying so."""
        cells = [f"R{8 * k + n},{n * 8.5 / mm:.4f},{k * 8 / mm:.4f},0,top" for n in range(8) for k in range(6)]
        got = read(table("\n".join(cells)))
        assert got.placements["R7"].x_mm == pytest.approx(59.5, abs=0.01)
        assert [dict(m.facts)["unit"] for m in got.input_file.assumed if m.slug == "placement-unit-assumed"] == [unit]

    def test_the_person_overrules_the_file(self, read) -> None:
        got = read(table("C1,1,2,0,top", "Designator,X (mm),Y (mm),Rotation,Side"), units="inch")
        assert got.placements["C1"].x_mm == pytest.approx(INCH_MM)

    def test_too_few_parts_to_tell_is_a_finding(self, read) -> None:
        assert slugs(read(table("C1,1,2,0,top"))) == ["placement-unit-unsure"]

    def test_a_unit_nobody_knows_is_refused(self, read) -> None:
        with pytest.raises(ReworkkitError) as caught:
            read(table("C1,1,2,0,top"), units="furlong")
        assert caught.value.message.slug == "placement-unit-unknown"


class TestSides:
    @pytest.mark.parametrize("word", ["Top", "TopLayer", "T", "F.Cu", "front", "Component Side", "L1", "oben", "顶层"])
    def test_words_for_top(self, read, word: str) -> None:
        got = read(table(f"C1,1,2,0,{word}"), units="mm")
        assert (got.placements["C1"].side, got.findings) == (Side.TOP, ())

    @pytest.mark.parametrize(
        "word", ["bottom", "Bottom Layer", "bot", "B", "B.Cu", "back", "SOLDER SIDE", "unten", "底层"]
    )
    def test_words_for_bottom(self, read, word: str) -> None:
        got = read(table(f"C1,1,2,0,{word}"), units="mm")
        assert (got.placements["C1"].side, got.findings) == (Side.BOTTOM, ())

    def test_an_unknown_word_is_a_finding(self, read) -> None:
        got = read(table("C1,1,2,0,left"), units="mm")
        assert [(f.message.slug, str(f.where[0])) for f in got.findings] == [
            ("placement-side-unknown", "placement.csv:2")
        ]

    def test_side_from_the_file_name(self, read) -> None:
        text = table("C1,1,2,0", "Designator,X,Y,Rotation")
        got = read(text, "valves-bottom.csv", units="mm")
        assert got.placements["C1"].side is Side.BOTTOM
        assert "placement-side-by-name" in assumed(got)

    def test_no_side_anywhere_is_said(self, read) -> None:
        got = read(table("C1,1,2,0", "Designator,X,Y,Rotation"), units="mm")
        assert got.placements["C1"].side is Side.TOP
        assert "placement-side-assumed" in assumed(got)

    def test_side_told_by_the_caller(self, read) -> None:
        got = read(table("C1,1,2,0", "Designator,X,Y,Rotation"), units="mm", side=Side.BOTTOM)
        assert got.placements["C1"].side is Side.BOTTOM


class TestRows:
    def test_designator_with_blanks_in_a_column_text(self, read) -> None:
        text = "## Unit = mm\n# Ref        Val      Package   PosX   PosY   Rot  Side\n"
        text += "SWD header   plug     HDR       1.0    2.0    0.0  top\n"
        text += "C1           1 uF     0402      3.0    4.0    0.0  top\n"
        got = read(text, "all.pos", ("SWDHEADER", "C1"))
        assert set(got.placements) == set(read(text, "all.pos").placements) == {"SWDHEADER", "C1"}

    def test_row_without_number_is_a_finding_and_the_rest_is_read(self, read) -> None:
        got = read(table("C1,1,2,0,top\nC2,here,2,0,top\nC3,3,4,0,top"), units="mm")
        assert list(got.placements) == ["C1", "C3"]
        assert [(f.message.slug, str(f.where[0])) for f in got.findings] == [
            ("placement-rows-unreadable", "placement.csv:3")
        ]

    def test_rotation_that_is_no_number(self, read) -> None:
        got = read(table("C1,1,2,upright,top"), units="mm")
        assert (got.placements["C1"].rotation_deg, slugs(got)) == (0.0, ["placement-rotation-unreadable"])

    def test_twice_at_one_place_and_at_two(self, read) -> None:
        same = read(table("C1,1,2,0,top\nC1,1,2,0,top"), units="mm")
        assert [(f.message.slug, f.severity) for f in same.findings] == [("placement-twice-same", Severity.NOTE)]
        two = read(table("C1,1,2,0,top\nC1,9,2,0,top"), units="mm")
        assert [(f.message.slug, f.severity) for f in two.findings] == [("placement-twice-different", Severity.CHECK)]
        assert two.placements["C1"].x_mm == 1.0

    def test_natural_order(self, read) -> None:
        assert list(read(table("C10,1,2,0,top\nC2,3,2,0,top"), units="mm").placements) == ["C2", "C10"]

    def test_columns_named_by_the_person(self, read) -> None:
        text = table("C1;1;2;0;top", "Was;Rechts;Hoch;Rotation;Side")
        got = read(text, units="mm", columns={"designator": "Was", "x": "Rechts", "y": "Hoch"})
        assert facts(got.placements["C1"]) == (1.0, 2.0, 0.0, "top")

    def test_heading_without_parts(self, read) -> None:
        assert slugs(read("## Side : top\n# Ref  Val  Package  PosX  PosY  Rot  Side\n## End\n", "top.pos")) == [
            "placement-empty"
        ]


class TestBadInput:
    @pytest.mark.parametrize("text", ["Dear Sir,\nhere is a letter.\n", "Designator,Value\nC1,100n\n", "{}"])
    def test_no_placement_is_refused(self, read, text: str) -> None:
        with pytest.raises(ReworkkitError):
            read(text)

    @settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(data=st.data())
    def test_any_damage_is_read_or_refused(self, tmp_path: Path, data) -> None:
        """Invariant: no damage ends in anything but a result or a ReworkkitError."""
        text = list(data.draw(st.sampled_from(sorted(SPELLINGS.values()))))
        for _ in range(data.draw(st.integers(1, 6))):
            at = data.draw(st.integers(0, len(text) - 1))
            text[at : at + data.draw(st.integers(0, 4))] = data.draw(st.text('X-Y 019,.;"\t#µ\n', max_size=4))
            text = text or [" "]
        path = tmp_path / "damaged.csv"
        path.write_text("".join(text), encoding="utf-8")
        try:
            got = read_placement(path, "damaged.csv")
        except ReworkkitError:
            return
        assert all(0 <= placement.rotation_deg < 360 for placement in got.placements.values())


def test_values_of_the_placement_against_the_list(tmp_path: Path) -> None:
    """One finding with both values; other spellings of a value, and other words for a chip, are no difference."""
    (tmp_path / "bom.csv").write_text("Ref,Value\nR1,10k\nR2,4k7\nR3,1k\nC1,100n\nU1,MCU-A\n", encoding="utf-8")
    text = "Designator,Val,X,Y,Rotation,Side\nR1,10K,1mm,1mm,0,T\nR2,4.7k,2mm,1mm,0,T\nR3,10k,3mm,1mm,0,T\n"
    text += "C1,0.1uF,4mm,1mm,0,T\nU1,MCU-A-QFN,9mm,9mm,0,T\n"
    (tmp_path / "placement.csv").write_text(text, encoding="utf-8")
    told = [f for f in read_board(tmp_path).findings if f.message.slug == "placement-value-differs"]
    assert [(f.refs, f.message.fact("pairs")) for f in told] == [(("R3",), "R3: 1k / 10k")]


def test_a_side_called_0_or_1_is_asked_about(tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text("Ref,X,Y,Side\nR1,1mm,2mm,0\nR2,3mm,4mm,1\n", encoding="utf-8")
    read = read_placement(tmp_path / "p.csv", "p.csv")
    assert "placement-side-unknown" in {f.message.slug for f in read.findings}
