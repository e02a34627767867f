"""What boards of strangers showed: numbered rows, one column for all, makers' numbers, words that hold the type."""

from decimal import Decimal
from pathlib import Path

import pytest

from reworkkit.model.part import PartIdentity
from reworkkit.model.vocabulary import Fit
from reworkkit.read.fitted_list import read_fitted_list
from reworkkit.read.identity import identify
from reworkkit.read.parts_list import PartsList, read_parts_list
from reworkkit.read.resistor_numbers import ohm_of_number
from tests.read.test_identity import _judge


def listed(folder: Path, text: str) -> PartsList:
    (folder / "bom.csv").write_text(text, encoding="utf-8")
    return read_parts_list(folder / "bom.csv", "bom.csv")


def identities(found: PartsList) -> dict[str, PartIdentity]:
    return {ref: identify(line, ref) for ref, line in found.places().items()}


def test_a_column_that_numbers_the_rows_is_no_value(tmp_path: Path) -> None:
    text = "Item,Qty,Reference,Part,Description\n1,1,R1,10K,RES\n2,1,R2,3.3K,RES\n3,1,IC1,L7805CV,V-REG\n"
    found = identities(listed(tmp_path, text))
    assert [found[ref].value.text for ref in ("R1", "R2", "IC1")] == ["10K", "3.3K", "L7805CV"]
    assert found["IC1"].kind == "linear_regulator"


def test_a_table_ruled_with_bars_under_a_title_is_cut_at_the_bars(tmp_path: Path) -> None:
    rows = ("F1 | fuse 250mA", "R2 R3 | 6k8", "T1 | BC548B", "K1 | relay 12V 360R", "P1 | pot 5k lin")
    text = "part list of the mat\nref | what\n" + "\n".join(rows)
    found = identities(listed(tmp_path, text))
    assert found["T1"].kind == "transistor_bipolar"
    assert found["T1"].value.text == "BC548B"
    assert found["R3"].value.main
    assert found["R3"].value.main.value == Decimal(6800)
    assert [found[ref].kind for ref in ("F1", "K1", "P1")] == ["fuse", "relay", "potentiometer"]


def test_what_is_said_of_another_part_leaves_this_one_fitted(tmp_path: Path) -> None:
    text = 'Ref,Value,Description\nR3,22R,"link at the pads of Q1, Q1 not fitted yet"\nR4,1k,"resistor, not fitted"\n'
    found = listed(tmp_path, text).places()
    assert found["R3"].fit is Fit.FIT
    assert found["R4"].fit is Fit.DO_NOT_FIT


@pytest.mark.parametrize("note", ["12 (NC) not used", "changeover, 4 unused", "Pin 7 (NC) nicht belegt"])
def test_a_pin_that_is_not_used_leaves_the_part_fitted(tmp_path: Path, note: str) -> None:
    found = listed(tmp_path, f'Ref,Value,Note\nK1,relay 24V,"{note}"\nK2,relay 24V,not used\n').places()
    assert [found[ref].fit for ref in ("K1", "K2")] == [Fit.FIT, Fit.DO_NOT_FIT]


def test_remarks_under_a_loose_heading_are_no_values_beside_a_column_of_them(tmp_path: Path) -> None:
    rows = "R1;100k;enable, upper\nR2;27k;\nR3;210k;\nC1;10uF 50V;\nL1;15uH;\nR4;180k;24 V reading\nJ1;jack;24 V\n"
    found = identities(listed(tmp_path, f"Ref;Part;Comment\n{rows}"))
    assert [str(found[ref].value.main and found[ref].value.main.value) for ref in ("R1", "R4")] == ["100000", "180000"]


@pytest.mark.parametrize("cell", ["R8 180k, R9 18k", "R8=180k; R9=18k", "R8: 180k / R9: 18k"])
def test_a_cell_that_names_each_designator_with_its_value(tmp_path: Path, cell: str) -> None:
    found = identities(listed(tmp_path, f'Ref,Value,Qty\n"R8,R9","{cell}",2\n"R1,R2",10k,2\n'))
    assert [float(found[ref].value.main.value) for ref in ("R8", "R9", "R2")] == [180e3, 18e3, 10e3]  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("ref", "texts", "kind"),
    [
        ("SI1", ("5 A flink",), "fuse"),
        ("DR1", ("100uH",), "inductor"),
        ("GL1", ("B80C1500",), "bridge_rectifier"),
        ("D4", ("", "", "", "LED 0805 yellow"), "led"),
        ("U1", ("AH337-WG-7",), "magnetic_sensor"),
        ("U1", ("LM5106MM",), "ic"),
        ("U1", ("LM5116MH",), "switching_regulator"),
        ("U1", ("SI8271AB-IS",), "ic"),
        ("Q1", ("SI8441DB",), "mosfet"),
        ("U1", ("LTV-356T",), "optocoupler"),
        ("U1", ("ISP817",), "optocoupler"),
        ("U1", ("MCT2E",), "optocoupler"),
        ("U1", ("ISO7721DR",), "ic"),
        ("Q1", ("BCR133",), "transistor_bipolar"),
    ],
)
def test_letters_and_words_of_the_bench(ref: str, texts: tuple[str, ...], kind: str) -> None:
    assert _judge(ref, *texts).kind == kind


@pytest.mark.parametrize(
    ("description", "outline", "number"),
    [
        ("2N7002 SOT23", "SOT-23", "2N7002"),
        ("FS8205A TSSOP-8 dual NMOS common drain", "TSSOP-8", "FS8205A"),
        ("BD140-16", "", "BD140-16"),
    ],
)
def test_a_description_may_hold_type_and_package(description: str, outline: str, number: str) -> None:
    found = _judge("Q1", "", "", description)
    assert (found.outline, found.type_numbers[0]) == (outline, number)


@pytest.mark.parametrize(
    ("number", "ohm"),
    [
        ("RC0805FR-0724K9L", "24900"),
        ("RC1206JR-070RL", "0"),
        ("CRCW080510K0FKEA", "10000"),
        ("ERJ-6ENF1002V", "10000"),
        ("ERJ-8GEYJ4R7V", "4.7"),
        ("MFR-25FBF52-10K", "10000"),
        ("RN55D1002F", "10000"),
        ("RK73H2ATTD1002F", "10000"),
        ("0603WAJ0103T5E", "10000"),
        ("RMCF0603JT4R70", "4.7"),
        ("CR0603-JW-103ELF", "10000"),
    ],
)
def test_makers_numbers_of_resistors(number: str, ohm: str) -> None:
    """Values as the makers' order guides decode these numbers (from memory)."""
    found = ohm_of_number(number)
    assert found is not None
    assert (found.value, found.unit) == (Decimal(ohm), "ohm")
    assert _judge("R1", "", "", "", number).value.main == found


@pytest.mark.parametrize("number", ["BC547B", "RT9193-33", "LM358", "MCR100-6", "CRM114"])
def test_other_numbers_hold_no_ohms(number: str) -> None:
    assert ohm_of_number(number) is None


@pytest.mark.parametrize("text", ["all parts fitted", "complete", "Fully populated.", "vollständig bestückt"])
def test_a_line_may_say_that_the_whole_board_is_fitted(tmp_path: Path, text: str) -> None:
    (tmp_path / "fitted.txt").write_text(text + "\n", encoding="utf-8")
    found = read_fitted_list(tmp_path / "fitted.txt", "fitted.txt", {"R1": "resistor", "U1": "ic"})
    assert {(one.ref, dict(one.facets)["place"]) for one in found.fitted.states} == {("R1", "fitted"), ("U1", "fitted")}


def test_colour_bands_in_words_are_ohms() -> None:
    """Yellow violet orange gold is 47 kilohm, 5 % (IEC 60062:2016)."""
    found = _judge("R1", "gelb violett orange gold").value
    assert found.main is not None
    assert found.tolerance is not None
    assert (found.main.value, found.tolerance.value) == (Decimal(47000), Decimal(5))


def test_a_plug_letter_with_ohms_is_a_potentiometer() -> None:
    assert _judge("P1", "10k lin").kind == "potentiometer"
    assert _judge("P1", "4-way").kind == "connector"
