"""The audit: each fault planted once is named once, sound papers raise nothing, causes are told apart."""

from collections import Counter
from decimal import Decimal

import pytest

from reworkkit.compute.list_audit import audit_list
from reworkkit.compute.list_audit.series import E24, E192, likely_meant, on_series
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding
from reworkkit.model.netlist import Pad, Pin, Placement
from reworkkit.model.part import Package, Part, PartIdentity, PartLine, PartValue
from reworkkit.model.values import Quantity, Source, Where
from reworkkit.model.vocabulary import Fit, Honesty, Mount, Severity, Side, YesNo
from reworkkit.show.texts import sentence

IEC_60063 = "IEC 60063, preferred number series (E24, E192)"
LIST = "bom.csv"


def package(name: str, pins: int = 2, mount: Mount = Mount.SMD) -> Package:
    source = Source("memory", "", Honesty.FROM_MEMORY)
    return Package(name, name, mount, 1.6, 0.8, 0.5, pins, None, None, 0, None, None, None, "", source)


class Row:
    """One row of an invented list, with what reading it would make of it."""

    def __init__(
        self,
        refs: str,
        value: str = "10k",
        outline: str = "0603",
        *,
        main: tuple[str, str] | None = None,
        kind: str = "resistor",
        key: str | None = None,
        quantity: int | None = None,
        fit: Fit = Fit.FIT,
        polarised: YesNo = YesNo.NO,
        pins: int = 2,
        mount: Mount = Mount.SMD,
        known: bool = True,
        alternative_of: int | None = None,
        part_number: str = "",
    ) -> None:
        self.refs = tuple(refs.split())
        quantities = Quantity(Decimal(main[0]), main[1], value) if main else None
        self.fit = fit
        self.line = PartLine(
            self.refs, refs, value, outline, "", part_number, quantity, fit, alternative_of, (), Where(LIST, 0)
        )
        self.identity = PartIdentity(
            kind,
            PartValue(quantities, None, None, None, None, value),
            package(outline, pins, mount) if known else None,
            outline,
            part_number,
            "",
            polarised,
            key or f"{kind}|{main or value}|{outline}",
        )


def resistor(refs: str, value: str, ohms: str, **more) -> Row:
    return Row(refs, value, main=(ohms, "ohm"), **more)


def capacitor(refs: str, value: str, farads: str, outline: str = "0603", **more) -> Row:
    return Row(refs, value, outline, main=(farads, "F"), kind="ceramic_capacitor", **more)


SOUND = (
    resistor("R1 R2", "10k", "10000", quantity=2),
    resistor("R3", "4.7k", "4700", quantity=1),
    resistor("R4", "4.99k", "4990", quantity=1),
    resistor("R5", "220R", "220", quantity=1),
    resistor("R6", "1M", "1000000", quantity=1),
    resistor("R7", "R010", "0.01", quantity=1),
    capacitor("C1", "100n", "1e-7", quantity=1),
    Row("U1", "LM2940", "SOT-223", kind="linear_regulator", polarised=YesNo.YES, pins=4, quantity=1),
)


def board(*rows: Row, **more) -> Board:
    lines, parts = [], {}
    for number, row in enumerate(rows, 2):
        where = Where(LIST, number)
        lines.append(row.line._replace(where=where))
        for ref in row.refs:
            parts.setdefault(ref, Part(ref, row.identity, row.fit, (), where))
    return Board("invented", None, (), tuple(lines), parts, **more)


def placed(*refs: str, side: Side = Side.TOP) -> dict[str, Placement]:
    return {
        ref: Placement(ref, 5.0 * n, 10.0 + n % 3, 0.0, side, Where("placement.csv", n + 2))
        for n, ref in enumerate(refs)
    }


def pads(*refs: str, drill: float | None = None, side: Side = Side.TOP, nets=("A", "B"), dx: float = 0.0) -> dict:
    """Two pads for each designator, round the place that `placed` gives it."""
    pins = {}
    for n, ref in enumerate(refs):
        for k, net in enumerate(nets):
            pad = Pad(dx + 5.0 * n - 0.8 + 1.6 * k, 10.0 + n % 3, 0.8, 0.8, 0.0, drill, drill is not None, side)
            pins[ref, str(k + 1)] = Pin(ref, str(k + 1), None, net, (pad,), Where("netlist.ipc", n + 4))
    return pins


def found(design: Board, slug: str) -> Finding:
    """Return the one finding with this slug."""
    every = [finding for finding in audit_list(design) if finding.message.slug == slug]
    assert len(every) == 1, [finding.message for finding in audit_list(design)]
    return every[0]


def open_findings(design: Board) -> list[Finding]:
    return [finding for finding in audit_list(design) if finding.severity is not Severity.NOTE]


def test_sound_papers_raise_nothing() -> None:
    refs = [ref for row in SOUND for ref in row.refs]
    assert audit_list(board(*SOUND, placements=placed(*refs))) == ()


FAULTS = {
    "listed-twice-different": (resistor("R1", "47k", "47000"), ("R1",), "47k"),
    "quantity-differs": (resistor("R50 R51", "33k", "33000", quantity=3), ("R50", "R51"), "3 / 2"),
    "value-against-class": (Row("R60", "100n", main=("1e-7", "F")), ("R60",), "100n"),
    "value-off-series": (resistor("R70", "4.8k", "4800"), ("R70",), "4.7 kohm"),
    "value-decade": (capacitor("C80", "1000u", "1e-3", "0402"), ("C80",), "1000u"),
    "cell-scientific": (Row("R90", "1.00E+03"), ("R90",), "1000"),
    "cell-date": (Row("C100", "02-Jan", kind="ceramic_capacitor"), ("C100",), "02-Jan"),
    "cell-sign-lost": (Row("C110", "10?F", kind="ceramic_capacitor"), ("C110",), "10µF"),
    "cell-sheet-error": (Row("U120", "#NAME?", kind="unknown"), ("U120",), "#NAME?"),
    "cell-zero-lost": (resistor("R130", "33k", "33000", outline="603"), ("R130",), "0603"),
    "columns-slipped": (Row("R140", "0603", "33k", known=False), ("R140",), "0603"),
    "package-against-kind": (resistor("R150", "33k", "33000", outline="SOIC-8", pins=8), ("R150",), "SOIC-8"),
    "package-of-other-class": (capacitor("C160", "100n", "1e-7", "R_0603"), ("C160",), "R_0603"),
    "one-part-two-spellings": (
        capacitor("C170", "0.1uF", "1e-7", key=SOUND[6].identity.key),
        ("C1", "C170"),
        "0.1uF",
    ),
}


@pytest.mark.parametrize("slug", FAULTS)
def test_each_planted_fault_is_named_once_with_what_was_read(slug: str) -> None:
    row, refs, shown = FAULTS[slug]
    design = board(*SOUND, row)
    finding = found(design, slug)
    assert finding.refs == refs
    assert shown in sentence(finding.message)
    assert any(where.line == len(SOUND) + 2 for where in finding.where)
    assert [f.message.slug for f in audit_list(design)] == [slug], "and nothing else is said"


def test_all_faults_together_are_each_named_once() -> None:
    design = board(*SOUND, *(row for slug, (row, _, _) in FAULTS.items() if slug != "listed-twice-different"))
    counts = Counter(finding.message.slug for finding in audit_list(design))
    for slug in FAULTS.keys() - {"listed-twice-different", "listed-twice-same"}:
        assert counts[slug] == 1, (slug, counts)


def test_worst_first() -> None:
    design = board(*SOUND, *(row for row, _, _ in FAULTS.values()))
    severities = [finding.severity for finding in audit_list(design)]
    assert severities == sorted(severities, key=list(Severity).index)
    assert severities[0] is Severity.STOP


class TestRows:
    def test_the_same_row_twice_is_a_note(self) -> None:
        assert found(board(*SOUND, SOUND[1]), "listed-twice-same").severity is Severity.NOTE

    def test_alternatives_are_not_duplicates(self) -> None:
        second = resistor("R3", "4.75k", "4750", quantity=0, alternative_of=3)
        assert audit_list(board(*SOUND, second)) == ()

    def test_quantities_for_several_boards_are_one_note(self) -> None:
        rows = [resistor(f"R{n} R{n + 50}", "10k", "10000", quantity=10) for n in range(1, 6)]
        finding = found(board(*rows), "quantity-for-copies")
        assert (finding.severity, finding.message.fact("copies")) == (Severity.NOTE, "5")

    def test_zero_quantity_of_a_place_not_fitted_is_right(self) -> None:
        assert audit_list(board(*SOUND, resistor("R20", "33k", "33000", quantity=0, fit=Fit.DO_NOT_FIT))) == ()

    def test_two_wrong_rows_are_one_finding(self) -> None:
        design = board(*SOUND, resistor("R20", "33k", "33000", quantity=2), resistor("R21", "15k", "15000", quantity=3))
        assert found(design, "quantity-differs").refs == ("R20", "R21")


class TestCells:
    @pytest.mark.parametrize("text", ["1E+03", "4,70E+05", "1.23E+12"])
    def test_powers_of_ten(self, text: str) -> None:
        assert found(board(*SOUND, Row("U20", text, kind="unknown")), "cell-scientific")

    @pytest.mark.parametrize(
        "text", ["02-Jan", "Jan-02", "2-Sep", "Sep-2012", "2024-03-01", "2024-03-01 00:00:00", "3/1/2024"]
    )
    def test_dates(self, text: str) -> None:
        assert found(board(*SOUND, Row("U20", text, kind="unknown")), "cell-date")

    @pytest.mark.parametrize("text", ["10\ufffdF", "4.7 ?F", "10ÂµF", "4k7?"])
    def test_lost_signs(self, text: str) -> None:
        assert found(board(*SOUND, Row("C20", text, kind="ceramic_capacitor")), "cell-sign-lost")

    @pytest.mark.parametrize(
        "text",
        ["1N4148", "BC847", "2N7002E", "MAX232E", "10k", "74HC14", "1E3", "Decoder", "MAR-6", "100n/50V", "1/4W", "?"],
    )
    def test_sound_texts(self, text: str) -> None:
        assert audit_list(board(*SOUND, Row("U20", text, "SOIC-8", kind="unknown", pins=8))) == ()


class TestValues:
    def test_series_are_those_of_the_standard(self, published) -> None:
        published("E24, number of values", len(E24), 24, source=IEC_60063)
        published("E192, number of values", len(E192), 192, source=IEC_60063)
        published("E192 holds 9.20 (not the rounded 9.19)", (920 in E192, 919 in E192), (True, False), source=IEC_60063)
        e48 = "100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274 287 301"
        missing = [value for value in map(int, e48.split()) if value not in E192]
        published("values of E48 (first decade half) missing in E192", missing, [], source=IEC_60063)

    @pytest.mark.parametrize(
        ("value", "meant"), [("4800", "4700"), ("0.0000000046", "4.7e-9"), ("4980", "4990"), ("85", None)]
    )
    def test_likely_value_is_one_typed_figure_away(self, value: str, meant: str | None) -> None:
        got = likely_meant(Decimal(value))
        assert got == (None if meant is None else Decimal(meant))
        assert got is None or on_series(got)

    def test_no_suspicion_without_context(self) -> None:
        assert audit_list(board(resistor("R1", "4.8k", "4800"), resistor("R2", "10k", "10000"))) == ()

    @pytest.mark.parametrize(
        "row", [capacitor("C20", "5p", "5e-12"), resistor("R20", "R005", "0.005"), resistor("R20", "50", "50")]
    )
    def test_values_sold_off_the_series(self, row: Row) -> None:
        assert open_findings(board(*SOUND, row)) == []

    def test_a_link_may_stand_at_a_capacitor(self) -> None:
        assert open_findings(board(*SOUND, Row("C20", "0R", main=("0", "ohm")))) == []

    def test_electrolytic_of_nanofarads(self) -> None:
        row = Row("C20", "10n", "CASE-A", main=("1e-8", "F"), kind="tantalum_capacitor", polarised=YesNo.YES)
        assert found(board(*SOUND, row), "value-decade").refs == ("C20",)


class TestSources:
    def test_each_cause_of_a_missing_placement_is_one_finding(self) -> None:
        rows = (
            *SOUND,
            resistor("R30 R31", "10k", "10000", fit=Fit.DO_NOT_FIT),
            Row("H1 H2", "hole", kind="mounting_hole", fit=Fit.NOT_A_PART),
            Row("J1 J2 J3", "header", "HDR", kind="connector", pins=4, mount=Mount.THROUGH_HOLE),
            resistor("R40", "10k", "10000"),
        )
        design = board(*rows, placements=placed(*(ref for row in SOUND for ref in row.refs)))
        got = {f.message.slug: (f.severity, f.refs) for f in audit_list(design)}
        assert got == {
            "no-placement": (Severity.CHECK, ("R40",)),
            "no-placement-do-not-fit": (Severity.NOTE, ("R30", "R31")),
            "no-placement-not-a-part": (Severity.NOTE, ("H1", "H2")),
            "no-placement-through-hole": (Severity.NOTE, ("J1", "J2", "J3")),
        }

    def test_parts_of_the_other_side_are_one_cause(self) -> None:
        top, bottom = ("R1", "R2", "R3", "R4"), ("R5", "R6")
        design = board(*SOUND[:5], placements=placed(*top), pins=pads(*top) | pads(*bottom, side=Side.BOTTOM))
        finding = found(design, "no-placement-other-side")
        assert (finding.refs, finding.severity) == (bottom, Severity.NOTE)

    def test_placement_of_another_board_stops(self) -> None:
        design = board(*SOUND, placements=placed(*(f"X{n}" for n in range(10))))
        assert [(f.message.slug, f.severity) for f in audit_list(design)] == [
            ("placement-of-another-board", Severity.STOP)
        ]

    def test_fiducials_and_holes_are_expected_outside_the_list(self) -> None:
        refs = [ref for row in SOUND for ref in row.refs]
        design = board(*SOUND, placements=placed(*refs, "FID1", "H1"), pins=pads(*refs, "TP1", "MH2"))
        assert open_findings(design) == []

    def test_place_on_the_board_without_row(self) -> None:
        refs = [ref for row in SOUND for ref in row.refs]
        design = board(*SOUND, placements=placed(*refs, "R46"), pins=pads(*refs, "R46"))
        assert [(f.message.slug, f.refs) for f in open_findings(design)] == [
            ("placed-not-listed", ("R46",)),
            ("pads-not-listed", ("R46",)),
        ]

    def test_side_contradiction(self) -> None:
        refs = [ref for row in SOUND for ref in row.refs]
        below = placed(*refs)["R3"]._replace(side=Side.BOTTOM)
        design = board(*SOUND, placements=placed(*refs) | {"R3": below}, pins=pads(*refs))
        assert found(design, "side-differs").refs == ("R3",)

    def test_one_origin_shift_is_no_finding_and_one_moved_part_is(self) -> None:
        refs = [ref for row in SOUND for ref in row.refs]
        placements = placed(*refs)
        assert open_findings(board(*SOUND, placements=placements, pins=pads(*refs, dx=100.0))) == []
        placements["R4"] = placements["R4"]._replace(y_mm=60.0)
        finding = found(board(*SOUND, placements=placements, pins=pads(*refs, dx=100.0)), "position-differs")
        assert finding.refs == ("R4",)

    def test_mirrored_bottom(self) -> None:
        refs = [ref for row in SOUND for ref in row.refs]
        placements = {r: p._replace(x_mm=-p.x_mm, side=Side.BOTTOM) for r, p in placed(*refs).items()}
        design = board(*SOUND, placements=placements, pins=pads(*refs, side=Side.BOTTOM))
        assert [f.message.slug for f in open_findings(design)] == ["bottom-mirrored"]

    def test_package_against_lands(self) -> None:
        refs = [ref for row in SOUND for ref in row.refs]
        pins = pads(*refs) | pads("U1", nets=tuple("ABCDEFGHIJKLMN"))
        assert found(board(*SOUND, pins=pins), "package-against-netlist").refs == ("U1",)


class TestLookAlikes:
    def test_polarised_parts_of_one_outline(self) -> None:
        rows = [
            Row(ref, value, "SOT-23", kind=kind, polarised=YesNo.YES, pins=3)
            for ref, value, kind in (
                ("Q1", "BC847", "transistor"),
                ("Q2", "BC857", "transistor"),
                ("U2", "3V3", "linear_regulator"),
            )
        ]
        finding = found(board(*rows), "look-alike-polarised")
        assert (finding.severity, finding.refs) == (Severity.NOTE, ("Q1", "Q2", "U2"))

    def test_equal_parts_are_no_danger(self) -> None:
        assert audit_list(board(Row("Q1 Q2", "BC847", "SOT-23", kind="transistor", polarised=YesNo.YES, pins=3))) == ()

    def test_unmarked_capacitors(self) -> None:
        design = board(capacitor("C1", "100n", "1e-7"), capacitor("C2", "1u", "1e-6"))
        assert found(design, "look-alike-unmarked").refs == ("C1", "C2")
