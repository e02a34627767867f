"""Lists as many people, shops and countries write them: `lists2/`, invented, with truths worked out by hand."""

import re
import unicodedata
from pathlib import Path
from typing import NamedTuple

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.model.vocabulary import Fit
from reworkkit.read.parts_list import PartsList, read_parts_list

HERE = Path(__file__).parent / "lists2"
ROUNDS = ("first", "second", "third")


class Truth(NamedTuple):
    """One list: its file, options of the head line, and the lines of its truth."""

    path: Path
    options: dict[str, str]
    lines: tuple[str, ...]


def truths() -> list[Truth]:
    found = []
    for name in ROUNDS:
        text = (HERE / name / "truths.txt").read_text(encoding="utf-8")
        for section in re.split(r"^== ", text, flags=re.MULTILINE)[1:]:
            head, *lines = section.strip().splitlines()
            file, *options = head.split()
            said = dict(option.split("=") for option in options)
            found.append(Truth(HERE / name / file, said, tuple(lines)))
    return found


def places(lines: tuple[str, ...], not_fitted: bool) -> dict[str, tuple[str, str]]:
    """Return designator -> (value, package) of the truth lines that are to be fitted, or that are not."""
    found = {}
    for line in lines:
        if line.startswith("!") is not_fitted:
            refs, value, package = (part.strip() for part in line.lstrip("!").split("|"))
            found |= {ref: (value, package) for word in refs.split() for ref in spread(word)}
    return found


def spread(word: str) -> list[str]:
    match = re.fullmatch(r"([A-Z]+)(\d+)-\1(\d+)", word)
    return [f"{match[1]}{n}" for n in range(int(match[2]), int(match[3]) + 1)] if match else [word]


def plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).split()).casefold()


def read(truth: Truth) -> PartsList:
    variant = truth.options.get("variant", "").replace("_", " ") or None
    return read_parts_list(truth.path, truth.path.name, variant=variant)


@pytest.mark.parametrize("truth", truths(), ids=lambda truth: f"{truth.path.parent.name}/{truth.path.name}")
def test_list_as_written(truth: Truth) -> None:
    if truth.lines == ("REFUSE",):
        with pytest.raises(ReworkkitError):
            read(truth)
        return
    listed = read(truth)
    got = listed.places()
    fit, empty = places(truth.lines, not_fitted=False), places(truth.lines, not_fitted=True)
    assert {ref for ref, line in got.items() if line.fit is Fit.FIT} == set(fit)
    assert {ref for ref, line in got.items() if line.fit is Fit.DO_NOT_FIT} == set(empty)
    for ref, (value, package) in (fit | empty).items():
        for written, expected in ((got[ref].value_text, value), (got[ref].package_text, package)):
            if expected != "~":
                assert plain(written) == plain("" if expected == "-" else expected), ref
    slugs = {finding.message.slug for finding in listed.findings}
    assert not (word := truth.options.get("finding")) or any(word in slug for slug in slugs)
    assert not (word := truth.options.get("no_finding")) or not any(word in slug for slug in slugs)
