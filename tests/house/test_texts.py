"""Every message has words, and every word is used."""

import ast
import re
from pathlib import Path

import reworkkit
from reworkkit.show.texts import AREAS, catalogue

PACKAGE = Path(reworkkit.__file__).parent
MAKERS = {"message", "ReworkkitError", "say", "_finding", "finding"}


def string_constants() -> tuple[set[str], set[str]]:
    """Return all string constants of the package, and the constant prefixes of its f-strings and sums."""
    constants, prefixes = set(), set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                constants.add(node.value)
            if isinstance(node, ast.JoinedStr) and node.values and isinstance(node.values[0], ast.Constant):
                prefixes.add(str(node.values[0].value))
            if isinstance(node, ast.BinOp) and isinstance(node.left, ast.Constant) and isinstance(node.left.value, str):
                prefixes.add(node.left.value)
    prefixes |= {constant for constant in constants if constant.endswith("-")}
    return constants, {prefix for prefix in prefixes if re.fullmatch(r"[a-z]+-[a-z-]*", prefix)}


def made_slugs() -> dict[str, str]:
    """Return every slug written as a literal in a call that makes a message, with its place."""
    found = {}
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant)):
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            if name in MAKERS and isinstance(node.args[0].value, str) and "-" in node.args[0].value:
                found[node.args[0].value] = f"{path.relative_to(PACKAGE)}:{node.lineno}"
    return found


def test_every_slug_has_a_sentence() -> None:
    known = {slug for area in catalogue().values() for slug in area}
    # Slugs in docstrings' examples are not real; they never reach a person.
    missing = {slug: place for slug, place in made_slugs().items() if slug not in known}
    assert not missing


def test_no_slug_is_defined_twice_and_every_area_is_listed() -> None:
    slugs = [slug for area in catalogue().values() for slug in area]
    assert len(slugs) == len(set(slugs)), sorted({slug for slug in slugs if slugs.count(slug) > 1})
    files = {path.stem for path in (PACKAGE / "show" / "texts" / "en").glob("*.toml")}
    assert files <= set(AREAS)


def test_every_slug_is_used() -> None:
    constants, prefixes = string_constants()
    templates = "\n".join(
        p.read_text(encoding="utf-8") for p in (PACKAGE / "show" / "templates").rglob("*") if p.is_file()
    )
    slugs = [slug for area in catalogue().values() for slug in area]
    unused = [s for s in slugs if s not in constants and not s.startswith(tuple(prefixes)) and s not in templates]
    assert not unused


def test_every_entry_has_a_sentence_and_no_unknown_part() -> None:
    for area in catalogue().values():
        for slug, entry in area.items():
            assert entry.get("sentence"), slug
            assert set(entry) <= {"sentence", "cause", "cure"}, slug
            assert "\n" not in entry["sentence"], slug
