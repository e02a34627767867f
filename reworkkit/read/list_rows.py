"""Rows of a parts list become lines: plain rows a column at a time, the odd ones one by one.

A plain row has one ordinary designator, the quantity 1 or none, and no word about fitting: most rows of a long list.
"""

import re
from collections.abc import Collection, Sequence
from itertools import repeat

from reworkkit.model.bulk import records
from reworkkit.model.designator import looks_numbered
from reworkkit.model.designator_cell import Cell, expand_cell
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import PartLine
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Fit, Severity
from reworkkit.read.column_cells import place_share, whole_number
from reworkkit.read.delimited import Row, Table
from reworkkit.read.fit_marks import Column, Mark, mark_of
from reworkkit.read.list_fit import FitJudge
from reworkkit.read.quirks import is_sub_title, is_total

_OWN_FIELDS = ("designator", "quantity", "value", "package", "description", "part_number")
_NO_COMPONENT = frozenset(["nc", "n/c", "n.c.", "NC", "N/C", "N.C."])
_BEHIND_NC = re.compile(r"^\d\S*\s*[ /(,;-]\s*n\.?/?c\.?\)?$", re.IGNORECASE)
_PASSIVE = frozenset("RCLDQF")
_PLAIN = re.compile(r"[A-Z]{1,6}[0-9]{1,5}")
_REFS = re.compile(r"(?<![-\w.])[A-Za-z]{1,6}[0-9]{1,5}(?![-\w.])")
_ONE = {"": None, "1": 1}
_STARS = "*†‡#"
_LEGEND = re.compile(
    r"[*†‡#]{1,3}\s*(?:[=:–-]|\w+ \w+)|notes?\s*\d*\s*[:.]\s|(?:hinweis|remarque|nota|uwaga|anm)\w*\s*\d*:\s",
    re.IGNORECASE,
)


class _PairsOf(dict[tuple[str, ...], tuple[tuple[str, str], ...]]):
    """Cells of the columns nobody asked for -> their (heading, text) pairs, made once for each combination."""

    def __init__(self, headings: Sequence[str]) -> None:
        super().__init__()
        self.headings = headings

    def __missing__(self, cells: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
        made = tuple((h, c) for h, c in zip(self.headings, cells, strict=True) if c)
        self[cells] = made
        return made


class RowReader:
    """Takes the rows one by one and keeps what the next row may need: the section, and the places named so far."""

    def __init__(self, table: Table, judge: FitJudge) -> None:
        self.table = table
        self.judge = judge
        self.findings: list[Finding] = []
        self.width = len(table.headings)
        get = table.columns.get
        self.at, self.quantity = table.columns["designator"], get("quantity")
        self.value, self.package = get("value"), get("package")
        self.description, self.part_number = get("description"), get("part_number")
        used = {i for i in (get(role) for role in _OWN_FIELDS) if i is not None}
        self.extra = tuple((i, h) for i, h in enumerate(table.headings) if i not in used)
        self.left_out: list[Where] = []
        self.other_board: list[Where] = []
        self.numbered = False
        self.known: set[str] = set()
        self.titles: list[tuple[int, bool]] = []

    def lines(self) -> list[PartLine]:
        """Return a line for every row that is a part or an item, in the order of the file."""
        rows = self.table.rows
        refs = self.table.by_column[self.at]
        odd = self._odd_rows(refs)
        sample = refs[:500]
        self.numbered = 2 * sum(map(looks_numbered, sample)) > len(sample)
        self.known = self._named(refs) if odd else set()
        made: list[PartLine | None] = self._in_bulk(refs)
        for n in sorted(odd):
            made[n] = self._taken(n, rows[n])
        self._apply_titles(made)
        return [line for line in made if line is not None]

    def _named(self, refs: Sequence[str]) -> set[str]:
        """Return the designators that rows name one by one: what looks like a range may be one of them."""
        known = {text for text in refs if "-" not in text}
        for text in refs:
            if "," in text or " " in text:
                known.update(ref.upper() for ref in _REFS.findall(text))
        return known

    def _odd_rows(self, refs: Sequence[str]) -> set[int]:
        """Return the numbers of the rows that need a second look."""
        odd = {n for n, match in enumerate(map(_PLAIN.fullmatch, refs)) if match is None}
        for index, marks in self.judge.watched:
            odd |= self._with_text(index, marks)
        if self.quantity is not None:
            odd |= self._with_text(self.quantity, set(self.table.distinct(self.quantity)) - _ONE.keys())
        if self.value is not None:
            texts = self.table.distinct(self.value)
            odd |= self._with_text(self.value, {t for t in texts if t in _NO_COMPONENT or _BEHIND_NC.search(t)})
        return odd | self._with_text(0, [""] if "" in self.table.by_column[0] else [])

    def _with_text(self, index: int, texts: Collection[str]) -> set[int]:
        return {n for n, text in enumerate(self.table.by_column[index]) if text in texts} if texts else set()

    def _in_bulk(self, refs: Sequence[str]) -> list[PartLine | None]:
        """Return a line for every row as if it were plain; the caller replaces those that are not."""
        none = repeat("")
        texts = self.table.stripped
        quantity = repeat(None) if self.quantity is None else map(_ONE.get, self.table.by_column[self.quantity])
        made: list[PartLine | None] = []
        made += records(
            PartLine,
            zip(refs),
            refs,
            none if self.value is None else texts(self.value),
            none if self.package is None else texts(self.package),
            none if self.description is None else texts(self.description),
            none if self.part_number is None else texts(self.part_number),
            quantity,
            repeat(Fit.FIT),
            repeat(None),
            self._extras(),
            records(Where, repeat(self.table.name), [line for line, _ in self.table.rows]),
        )
        return made

    def _extras(self) -> "list[tuple[tuple[str, str], ...]] | repeat[tuple[()]]":
        filled = [(index, heading) for index, heading in self.extra if self.table.distinct(index) != [""]]
        if not filled:
            return repeat(())
        names = [heading for _, heading in filled]
        columns = [self.table.stripped(index) for index, _ in filled]
        pairs = _PairsOf(names)
        return list(map(pairs.__getitem__, zip(*columns, strict=True)))

    def _apply_titles(self, made: list[PartLine | None]) -> None:
        """A title such as `Do not fit` holds for the rows below it, up to the next title."""
        ends = [*(at for at, _ in self.titles[1:]), len(made)]
        for (start, empty), end in zip(self.titles, ends, strict=False):
            for n in range(start, end if empty else start):
                if (line := made[n]) is not None and line.refs:
                    made[n] = line._replace(fit=Fit.DO_NOT_FIT)

    def _taken(self, n: int, row: Row) -> PartLine | None:
        cells = row.cells
        refs_text = cells[self.at].strip()
        where = Where(self.table.name, row.line)
        if not refs_text or not cells[0] or not refs_text[-1].isdigit() or refs_text.isdigit():
            filled = [cell.strip() for cell in cells if cell.strip()]
            if self._no_part(n, filled, refs_text, where):
                return None
        quantity_text = cells[self.quantity] if self.quantity is not None else ""
        quantity = whole_number(quantity_text) if quantity_text else None
        if self.judge.elsewhere(cells):
            self.other_board.append(where)
            return None
        cell = expand_cell(refs_text, quantity, self.known) if refs_text else Cell(())
        if self.numbered and any(ref.isdigit() for ref in cell.refs):
            bare = tuple(ref for ref in cell.refs if ref.isdigit())
            cell = cell._replace(refs=tuple(r for r in cell.refs if r not in bare), unread=(*cell.unread, *bare))
        starred = tuple(ref for ref in cell.refs if ref[-1] in _STARS and looks_numbered(ref.rstrip(_STARS)))
        if starred:
            cell = self._unstarred(cell, starred, where)
        self._check_cell(cell, refs_text, quantity, where)
        return self._line(cells, cell, refs_text, quantity, quantity_text, where)

    def _unstarred(self, cell: Cell, starred: tuple[str, ...], where: Where) -> Cell:
        """`R5*` is R5; what the star means stands in a line of the list that begins with one, or has to be asked."""
        refs = tuple(ref.rstrip(_STARS) if ref in starred else ref for ref in cell.refs)
        legend = self._legend(starred[0][-1])
        names = " ".join(starred[:6])
        if legend and mark_of(legend.lstrip(_STARS + " =:-–"), Column.TELLING) is Mark.DO_NOT_FIT:
            if len(starred) == len(cell.refs):
                return cell._replace(refs=refs, remark="DNP")
            legend = ""
        if not legend:
            self._note("list-star-unexplained", refs, where, refs=names, severity=Severity.CHECK)
        return cell._replace(refs=refs)

    def _legend(self, star: str) -> str:
        """Return the line that says what a star means: `* = not fitted`."""
        rows = (next((c.strip() for c in row.cells if c.strip()), "") for row in self.table.rows)
        texts = [*(line.strip(' ,;\t"|') for line in self.table.before), *rows]
        return next((text for text in texts if text.startswith(star) and _LEGEND.match(text)), "")

    def _line(
        self, cells: list[str], cell: Cell, refs_text: str, quantity: int | None, quantity_text: str, where: Where
    ) -> PartLine:
        value = cells[self.value].strip() if self.value is not None else ""
        fit = self._fit(cells, cell, value, quantity, quantity_text, where)
        return PartLine(
            cell.refs,
            refs_text,
            value,
            cells[self.package].strip() if self.package is not None else "",
            cells[self.description].strip() if self.description is not None else "",
            cells[self.part_number].strip() if self.part_number is not None else "",
            quantity,
            fit,
            None,
            tuple((h, c.strip()) for i, h in self.extra if (c := cells[i])) if self.extra else (),
            where,
        )

    def _fit(
        self, cells: list[str], cell: Cell, value: str, quantity: int | None, quantity_text: str, where: Where
    ) -> Fit:
        refs = cell.refs
        if self.judge.marked(cells, refs, where) or _says_empty(cell.remark):
            return Fit.DO_NOT_FIT
        if (
            quantity is None
            and quantity_text
            and (_says_empty(quantity_text) or quantity_text.strip().casefold() == "open")
        ):
            return Fit.DO_NOT_FIT
        if refs and quantity == 0 and self.judge.zero_counts:
            self._note("list-quantity-zero", refs, where, refs=" ".join(refs[:6]))
            return Fit.DO_NOT_FIT
        if refs and refs[0][0] in _PASSIVE and (value.casefold() in _NO_COMPONENT or _BEHIND_NC.search(value)):
            self._note("list-value-nc", refs, where, refs=" ".join(refs[:6]), severity=Severity.CHECK)
            return Fit.DO_NOT_FIT
        return Fit.FIT

    def _no_part(self, n: int, filled: list[str], refs_text: str, where: Where) -> bool:
        """Handle rows that are no part: blank ones, totals, and titles between groups (which may say `not fitted`)."""
        if not filled:
            return True
        if is_total(filled[0]) and (not refs_text or refs_text == filled[0] or refs_text.isdigit()):
            self.left_out.append(where)
            return True
        if _LEGEND.match(filled[0]):
            self.left_out.append(where)
            return True
        if is_sub_title(filled, self.width):
            self._title(n, filled[0], where)
            return True
        if self._about_the_list(filled, refs_text):
            self.left_out.append(where)
            return True
        return False

    def _about_the_list(self, filled: list[str], refs_text: str) -> bool:
        """`Approved by: C. Smith`, `Total parts: 14`: no row of a part names itself so."""
        if not filled[0].rstrip().endswith(":") or len(filled) > 4:
            return False
        return place_share(0, [[refs_text]]) < 0.5

    def _title(self, n: int, text: str, where: Where) -> None:
        empty = mark_of(text, Column.TELLING) is Mark.DO_NOT_FIT
        self.titles.append((n, empty))
        if empty:
            self._note("list-section-not-fitted", (), where, title=text[:60])
        else:
            self._note("list-sub-title", (), where, title=text[:60])

    def _check_cell(self, cell: Cell, refs_text: str, quantity: int | None, where: Where) -> None:
        if cell.unread:
            self._note(
                "list-designator-unread", cell.refs, where, text=", ".join(cell.unread)[:80], severity=Severity.CHECK
            )
        count = len(cell.refs)
        if quantity is not None and quantity != count and count and quantity != 0:
            self._note(
                "list-quantity-differs", cell.refs, where, severity=Severity.CHECK, quantity=quantity, count=count,
                refs=refs_text[:80],
            )  # fmt: skip
        elif cell.doubtful:
            self._note("list-range-doubtful", cell.refs, where, text=refs_text[:80], severity=Severity.CHECK)

    def _note(
        self, slug: str, about: tuple[str, ...], where: Where, *, severity: Severity = Severity.NOTE, **facts: str | int
    ) -> None:
        self.findings.append(Finding(message(slug, **facts), severity, about, (where,)))

    def summed(self) -> tuple[Finding, ...]:
        """Return one finding for all the rows about the list itself."""
        found = []
        if self.left_out:
            told = message("list-rows-about-list", count=len(self.left_out))
            found.append(Finding(told, Severity.NOTE, (), tuple(self.left_out[:20])))
        if self.other_board:
            told = message("list-rows-other-board", count=len(self.other_board))
            found.append(Finding(told, Severity.NOTE, (), tuple(self.other_board[:20])))
        return tuple(found)


def _says_empty(text: str) -> bool:
    return bool(text) and mark_of(text, Column.TELLING) is Mark.DO_NOT_FIT
