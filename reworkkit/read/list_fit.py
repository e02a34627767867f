"""Which rows of a parts list are not to be fitted: columns that ask, columns of a variant, and words in any cell.

Each distinct text of a column is judged once; only columns that say something are looked at row by row.
"""

from dataclasses import dataclass, field

from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Finding, NotJudged, message
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.column_cells import whole_number
from reworkkit.read.delimited import Table
from reworkkit.read.fit_marks import Column, Mark, answer_of, is_answer, mark_of
from reworkkit.read.heading_words import folded, meanings
from reworkkit.read.text import visible

_VARIANT_WORDS = frozenset(
    [
        "variant",
        "variants",
        "variante",
        "varianten",
        "version",
        "versions",
        "build",
        "builds",
        "option",
        "ausführung",
        "bestückungsvariante",
        "wariant",
        "varianta",
        "вариант",
        "исполнение",
        "バージョン",
        "版本",
        "型式",
        "config",
        "configuration",
        "board",
        "boards",
        "pcb",
        "platine",
        "carte",
        "placa",
        "scheda",
    ]
)
_BOARD_WORDS = frozenset(
    [
        "board",
        "boards",
        "pcb",
        "pcba",
        "platine",
        "leiterplatte",
        "carte",
        "placa",
        "scheda",
        "plaat",
        "płytka",
        "deska",
        "плата",
        "基板",
        "板",
    ]
)
_PROSE_ROLES = frozenset(["description"])
_TELLING_ROLES = frozenset(["value", "note", "fitted_flag", "not_fitted"])
_SILENT_ROLES = frozenset(["designator", "manufacturer", "side"])


@dataclass
class FitJudge:
    """The columns worth looking at (index -> text -> mark), and what the list leaves open about fitting."""

    watched: tuple[tuple[int, dict[str, Mark]], ...]
    zero_counts: bool
    findings: list[Finding] = field(default_factory=list)
    not_judged: tuple[NotJudged, ...] = ()

    def marked(self, cells: list[str], refs: tuple[str, ...], where: Where) -> bool:
        """Tell whether the row says that its places stay empty; a condition is a finding, not an answer."""
        for index, marks in self.watched:
            mark = marks.get(cells[index])
            if mark is Mark.DO_NOT_FIT:
                return True
            if mark is Mark.OPEN and refs:
                told = message("list-fit-conditional", refs=" ".join(refs[:6]), text=cells[index].strip()[:80])
                self.findings.append(Finding(told, Severity.CHECK, refs, (where,)))
        return False

    def elsewhere(self, cells: list[str]) -> bool:
        """Tell whether the row belongs to another board that stands in the same list."""
        return any(marks.get(cells[index]) is Mark.ELSEWHERE for index, marks in self.watched)


def fit_judge(table: Table, variant: str | None) -> FitJudge:
    """Judge each distinct text of each column once; `variant` picks one of several builds kept in one list."""
    distinct = {
        i: [text for text in table.distinct(i) if text]
        for i in range(len(table.headings))
        if i != table.columns.get("designator")
    }
    variants = _variant_columns(table, distinct)
    chosen, not_judged = _chosen(table, variants, variant, distinct)
    watched: list[tuple[int, dict[str, Mark]]] = []
    findings: list[Finding] = []
    for index, texts in distinct.items():
        if index in variants and index not in chosen and (variant or not_judged):
            continue
        marks = (
            _row_variant(texts, variant, table.headings[index])
            if index in chosen and not _asks(texts)
            else _marks(table, index, texts, index in chosen)
        )
        findings += _no_answers(table, index, texts, marks)
        if _only_ticks(table, index, marks, index in chosen):
            marks[""] = Mark.DO_NOT_FIT
            told = message("list-not-ticked", heading=table.headings[index])
            findings.append(Finding(told, Severity.CHECK, (), (Where(table.name, table.heading_line),)))
        if any(mark is not Mark.FIT for mark in marks.values()):
            watched.append((index, {t: m for t, m in marks.items() if m is not Mark.FIT}))
    return FitJudge(tuple(watched), _zero_counts(table, distinct), findings, not_judged)


def _no_answers(table: Table, index: int, texts: list[str], marks: dict[str, Mark]) -> list[Finding]:
    """`maybe` in a column that asks whether to fit, and mostly is answered: a person has to say what it means."""
    if _role_of(table, index) not in ("not_fitted", "fitted_flag") or not marks:
        return []
    unknown = [text for text in texts if visible(text) and text not in marks]
    if len(unknown) > len(marks) + 1:
        return []
    found = []
    for text in unknown:
        told_by = [row for row in table.rows if row.cells[index] == text]
        refs = " ".join(table.cell(row, "designator") for row in told_by[:6])
        told = message("list-fit-no-answer", refs=refs[:80], text=visible(text)[:40], heading=table.headings[index])
        found.append(Finding(told, Severity.CHECK, (), tuple(table.where(row) for row in told_by[:20])))
    return found


def _only_ticks(table: Table, index: int, marks: dict[str, Mark], chosen: bool) -> bool:
    """A column headed `fitted`, or of the build, with one kind of tick and blanks: a blank there means not fitted."""
    if (_role_of(table, index) != "fitted_flag" and not chosen) or len(marks) != 1 or "" not in table.distinct(index):
        return False
    return all(mark is Mark.FIT for mark in marks.values()) and len(next(iter(marks))) <= 3


def _role_of(table: Table, index: int) -> str:
    role = next((role for role, at in table.columns.items() if at == index), "")
    if role:
        return role
    heading = table.headings[index]
    if not heading or heading.startswith("column "):
        return "note"
    known = {alias.role for alias in meanings(heading)}
    return next((role for role in ("not_fitted", "fitted_flag", "note", "manufacturer") if role in known), "")


def _marks(table: Table, index: int, texts: list[str], asks: bool) -> dict[str, Mark]:
    role = _role_of(table, index)
    if role in _SILENT_ROLES or role == "quantity":
        return {}
    if role == "not_fitted":
        return {text: mark for text in texts if (mark := answer_of(text, False))}
    if (role == "fitted_flag" and _asks(texts)) or asks:
        return {text: mark for text in texts if (mark := answer_of(text, True))}
    column = Column.TELLING if role in _TELLING_ROLES else Column.PROSE if role in _PROSE_ROLES else Column.OTHER
    return {text: mark for text in texts if (mark := mark_of(text, column))}


def _asks(texts: list[str]) -> bool:
    """A column asks whether to fit when nearly all that stands in it are answers."""
    return bool(texts) and len(texts) <= 12 and sum(map(is_answer, texts)) >= 0.75 * len(texts)


def _variant_columns(table: Table, distinct: dict[int, list[str]]) -> set[int]:
    """Return the columns that tell builds apart: headed so, or several unknown columns of nothing but answers."""
    roles = {at: role for role, at in table.columns.items()}
    headed = {
        i
        for i, h in enumerate(table.headings)
        if i in distinct and distinct[i] and i not in roles and frozenset(folded(h).split()) & _VARIANT_WORDS
    }
    nameless = [
        i
        for i, h in enumerate(table.headings)
        if i in distinct
        and h
        and not meanings(h)
        and _asks(distinct[i])
        and (not _all_codes(distinct[i]) or _opens_with_fit(h))
    ]
    return headed | (set(nameless) if len(nameless) > 1 else set())


def _opens_with_fit(heading: str) -> bool:
    """`Populate_Pro`: the first word asks whether to fit, the rest names the build."""
    first = folded(heading).partition(" ")[0]
    return any(alias.role == "fitted_flag" for alias in meanings(first))


def _all_codes(texts: list[str]) -> bool:
    return all(text.strip().isdigit() for text in texts)


def _chosen(
    table: Table, variants: set[int], variant: str | None, distinct: dict[int, list[str]]
) -> tuple[set[int], tuple[NotJudged, ...]]:
    """Return the columns of the build asked for; without a word about it, say which builds there are."""
    if variant:
        wanted = folded(variant)
        picked = {i for i in variants if wanted and f" {wanted} " in f" {folded(table.headings[i])} "}
        if not picked:
            picked = {i for i in variants if any(_names(text, wanted) for text in distinct[i])}
        if not picked:
            seen = " | ".join(table.headings[i] for i in sorted(variants)) or "none"
            raise ReworkkitError("list-variant-not-there", where=(Where(table.name),), variant=variant, seen=seen)
        return picked, ()
    told = [i for i in sorted(variants) if _asks(distinct[i])]
    if len(told) == 1 and len(variants) == 1:
        return set(told), ()
    names = [table.headings[i] for i in told] or _row_names(variants, distinct)
    if len(names) < 2:
        return set(), ()
    because = message("list-several-variants", variants=" | ".join(names))
    question = message("list-which-variant")
    return set(), (NotJudged((), question, because, f'[files] variant = "{names[0]}"'),)


def _row_names(variants: set[int], distinct: dict[int, list[str]]) -> list[str]:
    for index in sorted(variants):
        if 2 <= len(distinct[index]) <= 12 and not any(map(is_answer, distinct[index])):
            return distinct[index]
    return []


def _names(cell: str, wanted: str) -> bool:
    return f" {wanted} " in f" {folded(cell)} "


def _row_variant(texts: list[str], variant: str | None, heading: str) -> dict[str, Mark]:
    """A column that names the build of each row: rows of another build are not fitted on this one.

    Where the column names boards, rows of another board are no places of this one at all.
    """
    other = Mark.ELSEWHERE if frozenset(folded(heading).split()) & _BOARD_WORDS else Mark.DO_NOT_FIT
    wanted = folded(variant or "")
    every = ("all", "both", "alle", "beide", "tous", "todos", "все", "全部", "any")
    return {t: other for t in texts if not _names(t, wanted) and folded(t) not in every}


def _zero_counts(table: Table, distinct: dict[int, list[str]]) -> bool:
    """Quantity 0 means `not fitted` only where other rows have a quantity above 0."""
    index = table.columns.get("quantity")
    return index is not None and any((whole_number(text) or 0) > 0 for text in distinct[index])
