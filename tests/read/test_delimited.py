"""The one reader for delimited text: encodings, delimiters, headings, for every kind of list."""

import csv
import subprocess
import sys
from pathlib import Path

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.model.vocabulary import Fit
from reworkkit.read import delimited
from reworkkit.read.delimited import (
    CANDIDATE_ROLES,
    FITTED_ROLES,
    PARTS_ROLES,
    PLACEMENT_ROLES,
    READING_ROLES,
    STOCK_ROLES,
    SWEEP_ROLES,
    read_table,
)
from reworkkit.read.fit_marks import Column, Mark, answer_of, mark_of
from reworkkit.read.heading_words import meanings
from reworkkit.read.text import MOST_BYTES, decode, read_text, visible
from reworkkit.tables import rows, sources


def table(tmp_path: Path, text: str, wanted, need=("designator",), **more):
    path = tmp_path / "list.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return read_table(path, "list.csv", wanted, need=need, **more)


# ------------------------------------------------------------------ encodings

SAMPLES = {  # text in the page's own language; bytes made by Python's codecs, an independent source
    "cp1252": "Bauteil;Wert;Gehäuse\nR1;10 kΩ\n".replace("Ω", "Ohm") + "C1;10µF ±10 %;größer\nU1;Würth;für Prüfung\n",
    "cp1250": "Oznaczenie;Wartość;Uwagi\nR1;10k;ścieżka główna\nC1;10µF;złącze\n",
    "cp1251": "Обозначение;Номинал;Корпус\nR1;10к;резистор\nD1;красный;светодиод\n",
    "cp932": "部品番号,値,説明\nR1,10k,抵抗器\nC1,0.1u,チップコンデンサ\n",
    "gb18030": "位号,参数,封装\nR1,10k,电阻\nC1,100nF,贴片电容\n",
}


@pytest.mark.parametrize("encoding", SAMPLES)
def test_code_pages_are_told_apart(encoding):
    got = decode(SAMPLES[encoding].encode(encoding), "x.csv")
    assert got.text == SAMPLES[encoding]
    assert [m.slug for m in got.assumed] == ["text-encoding-assumed"]


@pytest.mark.parametrize(
    ("encoding", "text"),
    [
        ("cp1252", "Ref,Value\nC1,10µF\n"),
        ("cp1252", "Ref,Valeur\nR1,Résistance à couche métallique\n"),
        ("cp1252", "Ref,Value\nC1,100 µF ±10 % 85 °C\n"),
        ("cp1250", "Ref,Popis\nR1,Označení součástky: rezistor\nC1,kondenzátor, žlutý\n"),
        ("cp1251", "Ref,Value\nD1,красный\n"),
        ("cp932", "Ref,Note\nR1,抵抗\nC1,コンデンサ\n"),
        ("gb18030", "Ref,Note\nR1,电阻\nC1,电容\nX1,晶振\n"),
    ],
)
def test_short_texts_in_code_pages(encoding, text):
    got = decode(text.encode(encoding), "x.csv")
    assert got.text == text
    assert got.assumed


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32"])
def test_unicode_forms(encoding):
    text = "Ref,Value\nR1,10kΩ\n" * 5
    got = decode(text.encode(encoding), "x.csv")
    assert got.text == text


@pytest.mark.parametrize("page", ["cp1252", "cp1251"])
def test_text_encoded_twice(page):
    text = "Ref,Value\nC1,10µF\nR1,4k7Ω\n" if page == "cp1252" else "Ref,Метка\nR1,Корпус\n"
    doubled = text.encode().decode("cp1252" if page == "cp1252" else "cp1251")
    got = decode(doubled.encode(), "x.csv")
    assert got.text == text
    assert got.assumed[0].slug == "text-encoded-twice"


def test_stray_bytes_in_utf8():
    got = decode("Ω µ ± ü ".encode() * 3 + b"10\xb5F", "x.csv")
    assert got.text.endswith("10µF")
    assert got.assumed[0].slug == "text-stray-bytes"


def test_stated_encoding_rules():
    assert decode("10µF".encode("cp1252"), "x", "cp1252").text == "10µF"
    for data, encoding, slug in ((b"\xff", "utf-8", "encoding-wrong"), (b"x", "klingon", "encoding-unknown")):
        with pytest.raises(ReworkkitError) as refused:
            decode(data, "x", encoding)
        assert refused.value.message.slug == slug


def test_file_over_64_mb_is_refused(tmp_path):
    path = tmp_path / "big.csv"
    with path.open("wb") as handle:
        handle.truncate(MOST_BYTES + 1)
    with pytest.raises(ReworkkitError) as refused:
        read_text(path)
    assert refused.value.message.slug == "file-too-large"


def test_invisible_characters():
    assert visible("\u200e R1\u00a0\u200b") == "R1"
    assert visible("Ｑｔｙ") == "Qty"


# ------------------------------------------------------------------ every kind of list


def test_placement(tmp_path):
    got = table(
        tmp_path, "Ref,Val,Package,PosX,PosY,Rot,Side\nR1,1k,0603,1.0,-2.0,90,top\n", PLACEMENT_ROLES, ("x", "y")
    )
    row = got.rows[0]
    assert [got.cell(row, role) for role in ("designator", "x", "y", "rotation", "side")] == [
        "R1",
        "1.0",
        "-2.0",
        "90",
        "top",
    ]


def test_placement_with_lines_above(tmp_path):
    text = "Made by hand\nUnits used: mil\n\n"
    text += '"Designator","Layer","Center-X(mil)","Center-Y(mil)","Rotation"\n"J2","TopLayer","255.9","1780","180"\n'
    got = table(tmp_path, text, PLACEMENT_ROLES, ("designator", "x", "y"))
    assert got.cell(got.rows[0], "x") == "255.9"
    assert "Units used: mil" in got.before
    assert got.heading_line == 4


def test_placement_of_real_boards(real_boards):
    """Truth: `rows` of INDEX.tsv."""
    with (real_boards / "INDEX.tsv").open(encoding="utf-8", newline="") as handle:
        listed = [r for r in csv.DictReader(handle, delimiter="\t") if r["kind"] == "placement" and r["rows"] != "0"]
    for row in listed:
        path = real_boards / row["local file"]
        got = read_table(path, path.name, PLACEMENT_ROLES, need=("designator", "x", "y"))
        named = [r for r in got.rows if got.cell(r, "designator") and got.cell(r, "x")]
        assert len(named) == int(row["rows"]), path.name


def test_candidates_stock_readings_fitted(tmp_path):
    got = table(tmp_path, "Part number;Fits;Price\nABC;Q1-Q4;1,20\n", CANDIDATE_ROLES, ("part_number",))
    assert got.cell(got.rows[0], "fits") == "Q1-Q4"
    got = table(tmp_path, "MPN,In stock,Drawer\nABC,5,C3\n", STOCK_ROLES, ("part_number",))
    assert got.cell(got.rows[0], "stock") == "5"
    got = table(tmp_path, "point,value,mode,hold point\nTP3 to GND,3.31V,volts,logic\n", READING_ROLES, ("point",))
    assert got.cell(got.rows[0], "reading") == "3.31V"
    assert got.cell(got.rows[0], "hold_point") == "logic"
    got = table(tmp_path, "Bauteil;Zustand;Bemerkung\nR1;fehlt;\n", FITTED_ROLES)
    assert got.cell(got.rows[0], "state") == "fehlt"


def test_needed_column_is_named(tmp_path):
    with pytest.raises(ReworkkitError) as refused:
        table(tmp_path, "Designator,X\nR1,1\n", PLACEMENT_ROLES, ("designator", "x", "y"))
    assert refused.value.message.fact("answer") == "--column y=NAME"


def test_column_by_number_and_by_name(tmp_path):
    text = "Wo;Was\nR1;10k\nR2;1k\n"
    assert table(tmp_path, text, PARTS_ROLES, columns={"designator": "1"}).columns["designator"] == 0
    assert table(tmp_path, text, PARTS_ROLES, columns={"designator": "WO"}).columns["designator"] == 0


def test_clean_rows_as_text_columns(tmp_path):
    """`0603`, `01005`, `NA` and `1E3` stay what they are."""
    got = table(tmp_path, "Ref,Package,Value\nR1,0603,1E3\nR2,01005,NA\n", PARTS_ROLES)
    assert got.by_column[1] == ["0603", "01005"]
    assert got.by_column[2] == ["1E3", "NA"]


def test_text_is_read_without_the_library_for_spreadsheets():
    probe = "import sys, reworkkit.read.folder; print('pandas' in sys.modules, 'numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_long_rows_are_kept_and_told(tmp_path):
    got = table(tmp_path, "Ref,Value\nR1,10k\nR2,a,b,c\nR3,1k\n", PARTS_ROLES)
    assert got.rows[1].cells == ["R2", "a", "b", "c"]
    assert [f.message.slug for f in got.findings] == ["list-row-long"]
    assert got.findings[0].where[0].line == 3


def test_a_quote_that_is_never_closed_swallows_no_row(tmp_path):
    got = table(tmp_path, 'Designator,Value\n"R1,10k\nR2,22k\n', PARTS_ROLES)
    assert [row.cells for row in got.rows] == [["R1", "10k"], ["R2", "22k"]]


def test_a_heading_wider_than_the_lines_below(tmp_path):
    with pytest.raises(ReworkkitError):
        table(
            tmp_path,
            "## Ref     Val       PosX       PosY\nR1  1 2\n",
            delimited.PLACEMENT_ROLES,
            need=("x", "y", "side"),
        )


def test_headings_with_nothing_but_remarks_below_are_refused_not_crashed(tmp_path):
    with pytest.raises(ReworkkitError):
        table(
            tmp_path, "### Module positions\n## Unit = mm\n", delimited.PLACEMENT_ROLES, need=("designator", "x", "y")
        )


# ------------------------------------------------------------------ tables of words


def test_tables_have_known_sources_and_unique_rows():
    for name, key in (("headings", ("role", "heading")), ("fit_words", ("wording", "match", "means"))):
        found = [tuple(row[k].casefold() for k in key) for row in rows(name)]
        assert len(found) == len(set(found))
        assert {row["source"] for row in rows(name)} <= set(sources())


def test_headings_in_at_least_eleven_languages():
    needed = {"designator", "quantity", "value", "package", "description", "note", "not_fitted"}
    known: dict[str, set[str]] = {}
    for row in rows("headings"):
        for language in row["language"].split():
            known.setdefault(language, set()).add(row["role"])
    complete = {language for language, roles in known.items() if needed <= roles}
    assert complete >= {"en", "de", "fr", "es", "it", "pt", "pl", "cs", "nl", "ru", "ja", "zh"}


def test_roles_of_the_table_are_the_roles_of_the_reader():
    used = {*PARTS_ROLES, *FITTED_ROLES, *PLACEMENT_ROLES, *CANDIDATE_ROLES, *STOCK_ROLES, *READING_ROLES, *SWEEP_ROLES}
    assert {row["role"] for row in rows("headings")} == used


@pytest.mark.parametrize(
    "heading", ["Reference(s)", "Ref. Des.", "REFDES", "Designator(s)", "Поз.обозначение", "位号", "Repère"]
)
def test_headings_for_designators(heading):
    assert "designator" in {alias.role for alias in meanings(heading)}


def test_marks():
    assert mark_of("do not solder", Column.OTHER) is Mark.DO_NOT_FIT
    assert mark_of("solder first", Column.TELLING) is None
    assert answer_of("", asks_fitted=False) is None
    assert Fit.DO_NOT_FIT.value == Mark.DO_NOT_FIT.value


@pytest.mark.parametrize("cell", ["100n, NP0 not fitted", "BC547, SOT23 not fitted", "10k (R0603 not fitted)"])
def test_marks_behind_a_dielectric_or_a_package_are_of_the_part_itself(cell):
    assert mark_of(cell, Column.PROSE) is Mark.DO_NOT_FIT


def test_marks_behind_another_designator_are_not_of_the_part_itself():
    assert mark_of("link at the pads, Q1 not fitted yet", Column.PROSE) is None


@pytest.mark.parametrize(
    "cell", ["driver, canaux 3 à 8 non câblés", "driver, voies 3 à 8 non câblées", "dual, second half not fitted"]
)
def test_marks_of_channels_are_not_of_the_part_itself(cell):
    assert mark_of(cell, Column.PROSE) is None


def test_frame_never_leaves_read():
    assert not any("DataFrame" in str(t) for t in delimited.read_table.__annotations__.values())
