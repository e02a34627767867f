"""The two tables of a survey: the fitted list that it keeps, and a sheet to fill in with a spreadsheet."""

from collections.abc import Iterator

from reworkkit.model.designator import natural_key
from reworkkit.model.survey import LOOKS, MARK, Looks, Seen, Survey
from reworkkit.show.sheet_words import SURVEY_WORDS, Speaker
from reworkkit.show.spreadsheet import table_text

HEADINGS = ("designator", "state", "note")
SHEET_HEADINGS = ("designator", "state", "note", "value", "package", "zone", "side")
Row = tuple[str, str, str, str]
WORDS = {kind: words for kind, words, _ in SURVEY_WORDS}


def fitted_text(survey: Survey, language: str) -> str:
    """Return the fitted list of a survey as far as it is: a place a row, then the line for all others.

    Rows that start with `#` come last and keep the looks that the rows above do not tell; reading passes them over.
    """
    speaker = Speaker(language)
    numbered = survey.copy is not None or any(row.copy is not None for row in survey.kept)
    copy = str(survey.copy) if survey.copy is not None else ""
    rows, looks_kept = [(MARK, "", "", ""), *_kept_rows(survey)], []
    for ref in sorted(survey.looks, key=natural_key):
        looks = survey.looks[ref]
        if looks.stands is not None and survey.inherited.get(ref) != looks:
            row, *more = _rows(ref, looks, copy, speaker)
            rows.append(row)
            looks_kept += more
    rows += [("others", survey.others, "", ""), *looks_kept]
    headings = (*HEADINGS, "copy") if numbered else HEADINGS
    return table_text(headings, (row[: len(headings)] for row in rows))


def _kept_rows(survey: Survey) -> list[Row]:
    return [(row.ref, row.word, row.note, str(row.copy or "")) for row in survey.kept]


def _rows(ref: str, looks: Looks, copy: str, speaker: Speaker) -> Iterator[Row]:
    """Yield the row of a place, then the rows of looks that it does not tell."""
    stands = looks.stands
    assert stands is not None
    note = _difference(looks, speaker) if looks.differ else stands.note
    yield ref, stands.word, note, copy
    for look, seen in zip(LOOKS, looks, strict=True):
        if seen is not None and (look != LOOKS[0] or (seen.word, seen.note) != (stands.word, note)):
            yield f"# {look} look: {ref}", seen.word, seen.note, copy


def _difference(looks: Looks, speaker: Speaker) -> str:
    first, second = (speaker.say(WORDS[seen.kind]) for seen in looks[:2] if isinstance(seen, Seen))
    return speaker.text("survey-note-differ", first=first, second=second)
