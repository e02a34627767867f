"""Fixtures shared by all tests: outside values, the folder of real lists, the example boards."""

import math
import shutil
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import settings

# Every run of the suite draws the same examples and none is held to a time: red means that something changed.
# `make proof` draws anew each time.
settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.register_profile("searching", deadline=None)
settings.load_profile("repeatable")

PROJECT = Path(__file__).resolve().parent.parent
SHARED = PROJECT.parent / "shared"
VALIDATION_PAGE = PROJECT / "docs" / "validation.md"
collect_ignore_glob = ["heat_reference/*.py"]
"""Scripts that made stored references with libraries the tests do not need."""
OUTSIDE_VALUES = pytest.StashKey[list["OutsideValue"]]()


class OutsideValue(NamedTuple):
    """One comparison with a value that this project did not make."""

    topic: str
    what: str
    expected: str
    got: str
    tolerance: str
    source: str


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--validation", choices=("off", "check", "write"), default="off", help="check or rewrite docs/validation.md"
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[OUTSIDE_VALUES] = []


@pytest.fixture
def published(request: pytest.FixtureRequest) -> Any:
    """Compare a computed value with an outside one, name its source, and record it for docs/validation.md.

    published("RKM code 4K7", got, expected, source="IEC 60062, Table II") compares exactly;
    with tolerance=0.01 numbers may differ by 1 % of the expected value (absolute=... for an absolute bound).
    """
    topic = request.module.__name__.rpartition(".")[2].removeprefix("test_").replace("_", " ")

    def compare(
        what: str, got: Any, expected: Any, *, source: str, tolerance: float = 0.0, absolute: float = 0.0
    ) -> None:
        assert source, "an outside value needs its source"
        if tolerance or absolute:
            assert math.isclose(float(got), float(expected), rel_tol=tolerance, abs_tol=absolute), (
                f"{what}: got {got}, {source} has {expected}"
            )
        else:
            assert got == expected, f"{what}: got {got!r}, {source} has {expected!r}"
        bound = f"{tolerance:.3g} of it" if tolerance else f"{absolute:.3g}" if absolute else "exact"
        value = OutsideValue(topic, what, _shown(expected), _shown(got), bound, source)
        request.config.stash[OUTSIDE_VALUES].append(value)

    return compare


def _shown(value: Any) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any, error: object) -> None:
    node.config.stash[OUTSIDE_VALUES].extend(
        OutsideValue(*v) for v in getattr(node, "workeroutput", {}).get("outside", [])
    )


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    config = session.config
    if hasattr(config, "workeroutput"):
        config.workeroutput["outside"] = [tuple(v) for v in config.stash[OUTSIDE_VALUES]]
        return
    mode = config.getoption("--validation")
    if mode == "off" or session.exitstatus != 0:
        return
    from tests.generate_docs import validation_page, validation_row

    values = config.stash[OUTSIDE_VALUES]
    if mode == "write":
        VALIDATION_PAGE.write_text(validation_page(values), encoding="utf-8")
        return
    # Where tests were skipped (no browser, no folder of real lists) the page may hold more than this run compared.
    told = set(VALIDATION_PAGE.read_text(encoding="utf-8").splitlines()) if VALIDATION_PAGE.exists() else set()
    missing = sorted({validation_row(value) for value in values} - told)
    if missing:
        print(f"\ndocs/validation.md lacks {len(missing)} comparisons: run `make docs`. First: {missing[0]}")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(scope="session")
def shared() -> Path:
    """Return the folder of real lists beside the project; tests that need it are skipped where it is absent."""
    if not SHARED.is_dir():
        pytest.skip("the folder of real lists (../shared) is not beside this checkout")
    return SHARED


@pytest.fixture(scope="session")
def real_boards(shared: Path) -> Path:
    """Return ../shared/real-boards."""
    return shared / "real-boards"


@pytest.fixture
def example_board(tmp_path: Path) -> Any:
    """Return a function that copies an example board by name into a fresh folder and returns that folder."""

    def copy(name: str) -> Path:
        return Path(shutil.copytree(PROJECT / "example_boards" / name, tmp_path / name))

    return copy
