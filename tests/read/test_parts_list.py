"""The parts list reader: real lists against their hand-checked truth, and one list in many spellings."""

import csv
import io
import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ReworkkitError
from reworkkit.model.vocabulary import Fit
from reworkkit.read.parts_list import PartsList, read_parts_list
from reworkkit.read.quirks import ROW_QUIRKS

QUICK = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def counts(listed: PartsList) -> tuple[int, int]:
    places = listed.places()
    empty = sum(line.fit is Fit.DO_NOT_FIT for line in places.values())
    return len(places) - empty, empty


def slugs(listed: PartsList) -> set[str]:
    return {finding.message.slug for finding in listed.findings}


def read(tmp_path: Path, text: str, encoding: str = "utf-8", name: str = "list.csv", **answers) -> PartsList:
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return read_parts_list(path, name, **answers)


# ------------------------------------------------------------------ real lists, counted by hand (INDEX.tsv)


def real_lists() -> list[dict[str, str]]:
    index = Path(__file__).resolve().parents[3] / "shared" / "real-boards" / "INDEX.tsv"
    if not index.is_file():
        return []
    with index.open(encoding="utf-8", newline="") as handle:
        rows = csv.DictReader(handle, delimiter="\t")
        return [row for row in rows if row["kind"] == "bom" and row["refs_fit"] and row["refs_dnf"]]


@pytest.mark.parametrize("row", real_lists(), ids=lambda row: row["local file"])
def test_real_list(row, real_boards):
    """Truth: counted by hand, `refs_fit` and `refs_dnf` of real-boards/INDEX.tsv."""
    path = real_boards / row["local file"]
    truth = int(row["refs_fit"]), int(row["refs_dnf"])
    if truth == (0, 0):
        with pytest.raises(ReworkkitError) as refused:
            read_parts_list(path, path.name)
        assert "--column designator=" in str(refused.value.message.fact("answer"))
    else:
        assert counts(read_parts_list(path, path.name)) == truth


def test_same_board_in_two_dialects(real_boards):
    one = read_parts_list(real_boards / "bom/bytecod3__Hydros__bom.csv", "one")
    two = read_parts_list(real_boards / "bom/bytecod3__Hydros__hdros-bom-6-19-2025.csv", "two")
    assert one.places().keys() == two.places().keys()


# ------------------------------------------------------------------ one list in many spellings (invented rows)

ROWS = [
    ("R1, R2, R3", "4", "10k", "0603"),
    ("R4-R7", "4", "4k7", "0805"),
    ("C1,C2", "2", "100nF 10%", "0603"),
    ("D1", "1", "1N4148", "SOD-123"),
    ("U1", "1", "NE555, timer", "SO8"),
    ("OLED", "1", "display", "module"),
    ("LED1-8", "8", "green", "0603"),
    ("VBAT+", "1", "pad", "pad"),
]
ROWS[0] = ("R1, R2, R3", "3", "10k", "0603")
EMPTY = ("C9", "1", "22uF", "1206")
FIT, LEFT_EMPTY = 3 + 4 + 2 + 1 + 1 + 1 + 8 + 1, 1

HEADINGS = {  # ordinary dictionary words of the trade, written from memory
    "English": ("Designator", "Quantity", "Value", "Footprint", "Remarks"),
    "German": ("Bauteil", "Anzahl", "Wert", "Gehäuse", "Bemerkung"),
    "French": ("Repère", "Quantité", "Valeur", "Boîtier", "Remarque"),
    "Spanish": ("Referencia", "Cantidad", "Valor", "Encapsulado", "Notas"),
    "Italian": ("Riferimento", "Quantità", "Valore", "Contenitore", "Note"),
    "Portuguese": ("Referência", "Quantidade", "Valor", "Encapsulamento", "Observações"),
    "Polish": ("Oznaczenie", "Ilość", "Wartość", "Obudowa", "Uwagi"),
    "Czech": ("Označení", "Počet", "Hodnota", "Pouzdro", "Poznámka"),
    "Dutch": ("Onderdeel", "Aantal", "Waarde", "Behuizing", "Opmerking"),
    "Russian": ("Поз. обозначение", "Кол-во", "Номинал", "Корпус", "Примечание"),
    "Japanese": ("部品番号", "数量", "値", "パッケージ", "備考"),
    "Chinese": ("位号", "数量", "参数", "封装", "备注"),
}
NOT_FITTED = {
    "English": "do not populate",
    "German": "nicht bestückt",
    "French": "non monté",
    "Spanish": "no montar",
    "Italian": "non montare",
    "Portuguese": "não montar",
    "Polish": "nie montować",
    "Czech": "neosazovat",
    "Dutch": "niet plaatsen",
    "Russian": "не устанавливать",
    "Japanese": "未実装",
    "Chinese": "不贴",
}
ENCODINGS = {
    "English": ("ascii", "utf-8", "utf-16", "utf-8-sig"),
    "German": ("cp1252", "utf-8", "cp1250"),
    "French": ("cp1252", "utf-8", "utf-16"),
    "Spanish": ("cp1252", "utf-8"),
    "Italian": ("cp1252", "utf-8"),
    "Portuguese": ("cp1252", "utf-8"),
    "Polish": ("cp1250", "utf-8-sig", "utf-16"),
    "Czech": ("cp1250", "utf-8"),
    "Dutch": ("ascii", "utf-8"),
    "Russian": ("cp1251", "utf-8", "utf-16"),
    "Japanese": ("cp932", "utf-8", "utf-16"),
    "Chinese": ("gb18030", "utf-8", "utf-8-sig"),
}


def spelled(language: str, delimiter: str, seed: int, *, quote: int = csv.QUOTE_MINIMAL, line_end: str = "\n") -> str:
    rng = random.Random(seed)
    table = [[*row, ""] for row in ROWS] + [[*EMPTY, NOT_FITTED[language]]]
    rng.shuffle(table)
    order = rng.sample(range(5), 5)
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, quoting=quote, lineterminator=line_end)
    writer.writerows([[row[i] for i in order] for row in [list(HEADINGS[language]), *table]])
    return out.getvalue()


@QUICK
@given(
    st.sampled_from(sorted(HEADINGS)),
    st.sampled_from(",;\t|"),
    st.integers(0, 10_000),
    st.integers(0, 3),
    st.sampled_from((csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
    st.sampled_from(("\n", "\r\n", "\r")),
)
def test_reading_depends_on_no_spelling(tmp_path, language, delimiter, seed, which, quote, line_end):
    """Invariant: language of the headings, order, delimiter, quoting, line ends and encoding change nothing."""
    encoding = ENCODINGS[language][which % len(ENCODINGS[language])]
    text = spelled(language, delimiter, seed, quote=quote, line_end=line_end)
    listed = read(tmp_path, text, encoding)
    assert counts(listed) == (FIT, LEFT_EMPTY)
    places = listed.places()
    assert places["R2"].value_text == "10k"
    assert places["U1"].package_text == "SO8"
    assert places["LED5"].quantity == 8


@pytest.mark.parametrize("language", sorted(HEADINGS))
@pytest.mark.parametrize("above", ["", "# made on Monday\n#\n", "Parts list\n\nRevision;B\n", "sep=;\n", ";;;;\n"])
def test_lines_above_the_headings(tmp_path, language, above):
    assert counts(read(tmp_path, above + spelled(language, ";", 3))) == (FIT, LEFT_EMPTY)


def test_blank_line_under_headings_and_rows_cut_short(tmp_path):
    text = "Ref,Qty,Value,Note\n\nR1,1,10k\nR2,1,10k,,,\n,,,\nR3,1,1k,DNP\n"
    assert counts(read(tmp_path, text)) == (2, 1)


def test_double_encoded_text_is_put_right_and_said(tmp_path):
    text = "Designator,Qty,Value\nC1,1,10µF\nR1,1,4k7Ω\nU1,1,Würth\n".encode().decode("cp1252")
    listed = read(tmp_path, text)
    assert [line.value_text for line in listed.lines] == ["10µF", "4k7Ω", "Würth"]
    assert [m.slug for m in listed.input_file.assumed] == ["text-encoded-twice"]


def test_aligned_text(tmp_path):
    text = "Part   Value        Package   Position\n\n"
    text += "C1     33p / 50 V   C0402     (1 2)\nR10    4k7          R0603     (10 2)\n"
    listed = read(tmp_path, text, name="list.txt")
    assert [(line.refs, line.value_text, line.package_text) for line in listed.lines] == [
        (("C1",), "33p / 50 V", "C0402"),
        (("R10",), "4k7", "R0603"),
    ]


def test_aligned_text_under_a_weak_heading(tmp_path):
    text = "Ref   Qty  Part\nRH1   1    68R 10W wirewound\nM1    1    IRLZ44N\nCE1   1    220uF/35V\n"
    listed = read(tmp_path, text, name="list.txt")
    assert [line.refs for line in listed.lines] == [("RH1",), ("M1",), ("CE1",)]


def test_a_column_of_remarks_describes_the_parts_where_no_other_does(tmp_path):
    words = [
        "terminal, control",
        "link RUN, closed",
        "relay small, one make contact",
        "fuse in its holder",
        "bleeder 4k7",
    ]
    rows = "".join(f"{ref};1;{text}\n" for ref, text in zip(("TB1", "JP1", "RY1", "FU1", "R1"), words, strict=True))
    listed = read(tmp_path, f"Part;Qty;Text\n{rows}")
    assert [line.description for line in listed.lines] == words


def test_a_column_under_a_heading_of_ones_own_tells_the_parts_where_no_other_does(tmp_path):
    words = ["resistor 10 kohm 1%", "TL431CLP", "LED green 5mm"]
    rows = "".join(f"{text},{ref},0207\n" for ref, text in zip(("R1", "U1", "LED1"), words, strict=True))
    listed = read(tmp_path, f"what I used,ref,case / remark\n{rows}")
    assert [line.description for line in listed.lines] == words


def test_table_drawn_with_bars(tmp_path):
    text = "| Ref | Qty | Value |\n|-----|-----|-------|\n| R1, R2 | 2 | 10k |\n| C1 | 1 | 1u |\n"
    assert counts(read(tmp_path, text, name="list.md")) == (3, 0)


def test_list_without_headings(tmp_path):
    listed = read(tmp_path, "R1,10k,0603\nR2,10k,0603\nC1,1u,0805\n")
    assert counts(listed) == (3, 0)
    assert [m.slug for m in listed.input_file.assumed] == ["list-no-headings", "list-column-by-cells"]
    assert [line.value_text for line in listed.lines] == ["10k", "10k", "1u"]


# ------------------------------------------------------------------ what fits and what does not


@pytest.mark.parametrize(
    ("heading", "cell", "empty"),
    [
        ("DNP", "DNP", True),
        ("DNP", "", False),
        ("DNP", "0", False),
        ("DNP", "no", False),
        ("DNP", "false", False),
        ("DNP", "x", True),
        ("DNP", "1", True),
        ("DNP", "DNP all", True),
        ("Fitted", "no", True),
        ("Fitted", "yes", False),
        ("Bestückt", "nein", True),
        ("Notes", "No not install", True),
        ("Notes", "do not instal", True),
        ("Notes", "Do not place!", True),
        ("Notes", "not fitted", True),
        ("Notes", "(unpopulated)", True),
        ("Notes", "place near U1", False),
        ("Notes", "do not wash", False),
        ("Notes", "non-polar", False),
        ("Notes", "not fitted if R9 is used", False),
        ("Anything", "NP", True),
        ("Anything", "DNI", True),
        ("Value", "10k DNP", True),
        ("Value", "DNP", True),
        ("Value", "100n/DNP", True),
        ("Value", "22uF NP", False),
        ("Value", "NP0", False),
        ("Manufacturer", "NS", False),
        ("Description", "capacitor C0G/NP0, not polarised", False),
        ("Description", "resistor, do not fit", True),
        ("Bemerkung", "nicht bestücken", True),
        ("Remarque", "ne pas monter", True),
        ("備考", "実装しない", True),
        ("Примечание", "не запаивать", True),
    ],
)
def test_words_about_fitting(tmp_path, heading, cell, empty):
    filler = "" if heading in ("DNP", "Notes", "Anything") else "zz"
    text = f'Ref,Qty,{heading},Other\nR1,1,"{cell}",a\nR2,1,{filler},b\nR3,1,{filler},c\n'
    if heading in ("Fitted", "Bestückt"):
        text = text.replace("zz", "yes" if heading == "Fitted" else "ja")
    assert counts(read(tmp_path, text)) == ((2, 1) if empty else (3, 0))


def test_condition_is_a_finding(tmp_path):
    assert "list-fit-conditional" in slugs(read(tmp_path, "Ref,Qty,Notes\nR1,1,do not fit if R2 is fitted\nR2,1,\n"))


def test_quantity_zero_and_open(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Value\nR1,0,OPEN\nR2,1,10k\nJP1,1,open\n")
    assert counts(listed) == (2, 1)


def test_alternative_with_quantity_zero(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Value\nD1-D4,4,white\nD1-D4,0,warm\n")
    assert counts(listed) == (4, 0)
    assert listed.lines[1].alternative_of == 2


def test_alternative_standing_first_and_sharing_some_places(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Value,Note\nC1 C2,2,1u,DNP\nC2,1,10u,\n")
    assert counts(listed) == (1, 1)
    assert listed.places()["C2"].value_text == "10u"


def test_designator_twice_counts_once(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Value\nR1,1,10k\nR1,1,4k7\n")
    assert counts(listed) == (1, 0)
    assert "list-designator-twice" in slugs(listed)


def test_quantity_that_differs(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Value\nR1 R2,3,10k\nR3,1,4k7\n")
    assert "list-quantity-differs" in slugs(listed)


def test_section_title_that_says_not_fitted(tmp_path):
    text = "Ref,Qty,Value\nResistors,,\nR1,1,10k\nDo not fit:,,\nR2,1,1k\nR3,1,1k\nCapacitors,,\nC1,1,1u\n"
    assert counts(read(tmp_path, text)) == (2, 2)


def test_mark_in_the_designator_cell(tmp_path):
    assert counts(read(tmp_path, "Ref,Qty,Value\nR1 (DNP),1,10k\nR2,1,1k\n")) == (1, 1)


def test_variant_columns(tmp_path):
    text = "Ref,Qty,Value,Variant 12 V,Variant 24 V\nR1,1,10k,populate,populate\n"
    text += "R2,1,1k,populate,leave empty\nR3,1,1k,leave empty,populate\nR4,1,1k,leave empty,leave empty\n"
    neither = read(tmp_path, text)
    assert counts(neither) == (4, 0)
    assert neither.not_judged[0].answer == '[files] variant = "Variant 12 V"'
    assert counts(read(tmp_path, text, variant="24 V")) == (2, 2)
    with pytest.raises(ReworkkitError) as refused:
        read(tmp_path, text, variant="48 V")
    assert refused.value.message.slug == "list-variant-not-there"


def test_two_boards_in_one_list(tmp_path):
    text = "Ref,Qty,Value,Board\nR1,1,10k,main\nR2,1,1k,sensor\nR3,1,1k,both\n"
    listed = read(tmp_path, text, variant="main")
    assert counts(listed) == (2, 0)
    assert "list-rows-other-board" in slugs(listed)
    of_builds = read(tmp_path, text.replace("Board", "Version"), variant="main")
    assert counts(of_builds) == (2, 1)


# ------------------------------------------------------------------ quirks


def test_every_quirk_names_a_test():
    assert all(quirk.test in globals() for quirk in ROW_QUIRKS)


def test_headings_repeated_on_every_page(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Value\nR1,1,10k\nRef,Qty,Value\nR2,1,10k\n")
    assert counts(listed) == (2, 0)
    assert "list-heading-again" in slugs(listed)


def test_rules_between_rows(tmp_path):
    assert counts(read(tmp_path, "Ref,Qty,Value\n---,---,---\nR1,1,10k\n=====,,\nR2,1,1k\n")) == (2, 0)


def test_remark_rows(tmp_path):
    assert counts(read(tmp_path, "Ref,Qty,Value\n# filters,,\nR1,1,10k\n,,\n// end,,\n")) == (1, 0)


def test_designators_without_quotes(tmp_path):
    listed = read(tmp_path, "Qty,Ref,Value\n3,R1,R2,R3,10k\n1,C1,1u\n")
    assert listed.lines[0].refs == ("R1", "R2", "R3")
    assert listed.lines[0].value_text == "10k"


def test_decimal_comma_without_quotes(tmp_path):
    listed = read(tmp_path, "Ref,Value,Package\nR1,2,2k,0603\nR2,10k,0603\n")
    assert listed.lines[0].value_text == "2,2k"
    assert listed.lines[0].package_text == "0603"


def test_totals_and_footers(tmp_path):
    text = "Ref;Qty;Value\nR1;1;10k\n\n\nComponent Count:;141\nTotal;2;\nGrand total:;;5\n"
    assert counts(read(tmp_path, text)) == (1, 0)


def test_quote_left_open(tmp_path):
    listed = read(tmp_path, 'Ref,Qty,Value\nR1,1,"10k\nR2,1,4k7\nR3,1,1k\nC1,1,1u\n')
    assert counts(listed) == (4, 0)


def test_cell_over_several_lines(tmp_path):
    listed = read(tmp_path, 'Ref,Qty,Value\n"R1,\nR2",2,10k\nR3,1,1k\n')
    assert counts(listed) == (3, 0)
    assert listed.lines[1].where.line == 4


# ------------------------------------------------------------------ refusals and ordinary hostile input


def test_refusal_names_headings_and_the_line_to_paste(tmp_path):
    with pytest.raises(ReworkkitError) as refused:
        read(tmp_path, "Wo genau,Dazwischen,Was\nR1,R3,10k\nR2,R4,1k\n")
    assert refused.value.message.slug == "column-not-found"
    assert refused.value.message.fact("answer") == '--column designator="Wo genau"'
    assert "Dazwischen" in str(refused.value.message.fact("headings"))
    assert counts(read(tmp_path, "Wo genau,Wieviel,Was\nR1,1,10k\nR2,1,1k\n", columns={"designator": "wo genau"})) == (
        2,
        0,
    )


def test_column_that_is_not_there(tmp_path):
    with pytest.raises(ReworkkitError) as refused:
        read(tmp_path, "Foo,Qty,Value\nR1,1,10k\n", columns={"designator": "Bar"})
    assert refused.value.message.slug == "column-not-there"


@pytest.mark.parametrize(
    ("data", "slug"),
    [
        (b"", "file-empty"),
        (b"\n \n", "file-empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0", "file-binary"),
        (b"PK\x03\x04broken", "spreadsheet-unreadable"),
        (b"Ref,Qty\n", "list-without-designators"),
        (b"hello\n", "column-not-found"),
    ],
)
def test_bad_files_are_refused(tmp_path, data, slug):
    path = tmp_path / "bad.csv"
    path.write_bytes(data)
    with pytest.raises(ReworkkitError) as refused:
        read_parts_list(path, "bad.csv")
    assert refused.value.message.slug == slug


def test_missing_file_and_folder(tmp_path):
    for path, slug in ((tmp_path / "no.csv", "file-missing"), (tmp_path, "file-is-folder")):
        with pytest.raises(ReworkkitError) as refused:
            read_parts_list(path, "x")
        assert refused.value.message.slug == slug


def test_markup_formulas_and_escapes_stay_text(tmp_path):
    text = 'Ref,Qty,Value,Note\nR1,1,<script>alert(1)</script>,"=HYPERLINK(""http://x"")"\n'
    text += "R2,1,\x1b[31mred,{{ 7*7 }}\n<b>R3</b>,1,1k,\n"
    listed = read(tmp_path, text, name="liste à pièces (1).csv")
    assert listed.places()["R1"].value_text == "<script>alert(1)</script>"
    assert listed.places()["R2"].value_text == "\x1b[31mred"
    assert ("Note", "{{ 7*7 }}") in listed.places()["R2"].extra
    assert "list-designator-unread" in slugs(listed)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.binary(max_size=300) | st.text(max_size=300).map(lambda t: ("Ref,Qty,Value\n" + t).encode("utf-8", "replace"))
)
def test_anything_is_read_or_refused(tmp_path, data):
    """Invariant: no input makes anything but a list or a ReworkkitError."""
    path = tmp_path / "any.csv"
    path.write_bytes(data)
    try:
        listed = read_parts_list(path, "any.csv")
    except ReworkkitError:
        return
    assert listed.places()


def test_spreadsheet(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    pytest.importorskip("python_calamine")
    book = openpyxl.Workbook()
    book.active.append(["Invented list"])
    sheet = book.create_sheet("Parts")
    for row in (["Made today"], [], ["Ref", "Qty", "Value", "DNP"], ["R1, R2", 2, "10k", None], ["C1", 1, "1u", "DNP"]):
        sheet.append(row)
    path = tmp_path / "list.xlsx"
    book.save(path)
    listed = read_parts_list(path, "list.xlsx")
    assert counts(listed) == (2, 1)
    assert listed.lines[0].quantity == 2
    assert listed.lines[0].where.line == 4


def test_rows_without_designator_are_kept_as_items(tmp_path):
    listed = read(tmp_path, "Ref,Qty,Description\nR1,1,resistor\n,4,M3 screw\n")
    assert [line.refs for line in listed.lines] == [("R1",), ()]


def test_a_word_that_is_no_answer_is_a_finding(tmp_path):
    """`maybe` under DNP decides nothing: the place counts as to fit, and a person is asked."""
    got = read(tmp_path, "Designator,Value,DNP\nR1,10k,yes\nR2,10k,no\nR3,10k,maybe\nR4,10k,\n")
    assert counts(got) == (3, 1)
    told = [f for f in got.findings if f.message.slug == "list-fit-no-answer"]
    assert [(f.message.fact("text"), f.where[0].line) for f in told] == [("maybe", 4)]


def test_two_tables_side_by_side_lose_nothing_silently(tmp_path):
    stacked = read(tmp_path, "Designator,Value,Designator,Value\nR1,10k,R2,22k\nR3,1k,R4,2k\n")
    assert {ref: line.value_text for ref, line in stacked.places().items()} == {
        "R1": "10k", "R2": "22k", "R3": "1k", "R4": "2k"
    }  # fmt: skip
    assert "list-tables-stacked" in slugs(stacked)
    got = read(tmp_path, "Designator,Value,Reference,Value\nR1,10k,R2,22k\nR3,1k,R4,2k\n")
    told = [f for f in got.findings if f.message.slug == "list-designators-beside"]
    assert [f.refs for f in told] == [("R2", "R4")]
    assert not slugs(read(tmp_path, "Designator,Value,Designator\nR1,10k,R1\n")) & {"list-designators-beside"}


def test_an_answer_about_a_column_that_is_not_there_is_told(tmp_path):
    text = "Designator,Value\nR1,10k\n"
    got = read(tmp_path, text, columns={"value": "Wert"})
    assert [f.message.fact("heading") for f in got.findings if f.message.slug == "column-said-not-there"] == ["Wert"]
    assert "column-said-not-there" not in slugs(read(tmp_path, text, columns={"value": "value", "x": "Mid X"}))
    with pytest.raises(ReworkkitError) as refused:
        read(tmp_path, text, columns={"wert": "Value"})
    assert refused.value.message.slug == "column-role-unknown"


def test_a_star_nobody_explains_is_asked_about(tmp_path):
    got = read(tmp_path, "Ref,Value\nR1,10k\nR2*,1k\n")
    assert counts(got) == (2, 0)
    assert set(got.places()) == {"R1", "R2"}
    assert "list-star-unexplained" in slugs(got)


def test_an_open_quote_swallows_no_row_and_is_told(tmp_path):
    got = read(tmp_path, 'Ref,Value,Note\nR1,10k,"thick\nR2,1k,film\nC1,1u,"a ""b"""\n')
    assert set(got.places()) == {"R1", "R2", "C1"}
    assert "list-quotes-open" in slugs(got)


def test_part_numbers_that_look_like_designators_are_not_taken(tmp_path):
    got = read(tmp_path, "Thing,Code,Where on the board\n10k,R0805,R1 R2\n100n,C1206,C1\nNPN,BC547,Q1\n")
    assert set(got.places()) == {"R1", "R2", "C1", "Q1"}


def test_letters_that_only_look_latin(tmp_path):
    got = read(tmp_path, "Ref,Value\n\u04211,100n\n\u0422\u04401,transformer\n")
    assert set(got.places()) == {"C1", "\u0422\u04201"}


def test_a_condition_is_asked_and_an_order_of_work_is_none(tmp_path):
    got = read(tmp_path, "Ref,Value,Note\nR1,0R,do not fit before the first test\nR2,0R,do not fit\n")
    assert counts(got) == (1, 1)
    assert "list-fit-conditional" in slugs(got)


def test_values_stand_under_part_where_the_comments_say_what_for(tmp_path):
    """Invented rows: the heading "Comment" often heads values, but the cells decide."""
    path = tmp_path / "bom.csv"
    rows = ("R1, R3;2;121R 1%;set", "R2;1;1k07 1%;set", "C1;1;1000u/35;reservoir", "U1;1;LM350T;pos. regulator")
    path.write_text("\n".join(("Reference;Qty;Part;Comment", *rows)), encoding="utf-8")
    told = {line.refs[0]: (line.value_text, line.description) for line in read_parts_list(path, "bom.csv").lines}
    assert told["R1"] == ("121R 1%", "set")
    assert told["C1"] == ("1000u/35", "reservoir")
