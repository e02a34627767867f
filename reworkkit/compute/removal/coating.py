"""Coating: identify first. Polyurethane never meets an iron or hot air."""

import re

from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.results import Alert
from reworkkit.model.vocabulary import AlertLevel
from reworkkit.tables import Row, rows

_WARNING, _CAUTION = AlertLevel.WARNING, AlertLevel.CAUTION
_TESTS = {
    "solvent": message("coating-test-solvent"),
    "hard": message("coating-test-hard"),
    "rubbery": message("coating-test-rubbery"),
    "glass": message("coating-test-glass"),
    "film": message("coating-test-film"),
}
_REMOVERS = {
    "solvent": message("coating-remove-solvent"),
    "peel": message("coating-remove-peel"),
    "scrape": message("coating-remove-scrape"),
}


def coating_row(written: str | None) -> Row | None:
    """Return the row of a coating as the person named it, or None for one that is not known."""
    text = (written or "").strip().casefold()
    words = {text, *re.split(r"[^\w-]+", text)} - {""}
    return next((row for row in rows("coatings") if words & set(row["words"].split("|"))), None)


def coating_advice(written: str | None) -> tuple[tuple[Alert, ...], tuple[Message, ...], tuple[NotJudged, ...]]:
    """Return the warnings, the steps and the open question about the coating of a board."""
    row = coating_row(written)
    if row is None:
        return _not_known(written)
    if row["key"] == "none":
        return (), (), ()
    alerts: list[Alert] = []
    if row["iron"] == "no":
        slug = "coating-polyurethane" if row["key"] == "polyurethane" else "coating-no-heat"
        alerts.append((_WARNING, message(slug, coating=row["key"])))
    if row["remover"] == "solvent":
        alerts.append((_WARNING, message("coating-solvent-dry")))
    through = message("coating-through" if row["through"] == "yes" else "coating-off-first", coating=row["key"])
    return tuple(alerts), (through, _TESTS[row["test"]], _REMOVERS[row["remover"]]), ()


def _not_known(written: str | None) -> tuple[tuple[Alert, ...], tuple[Message, ...], tuple[NotJudged, ...]]:
    """A coating nobody named is treated as the worst: no heat before it is known."""
    because = message("coating-not-in-table", coating=written) if written else message("coating-not-told")
    question = NotJudged((), message("coating-question"), because, '[board] coating = "none"')
    return ((_WARNING, message("coating-unknown")),), tuple(_TESTS.values()), (question,)
