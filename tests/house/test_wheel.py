"""A wheel that was built here works elsewhere: templates, tables and example boards are in it."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.conftest import PROJECT


def run(*command: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run([str(c) for c in command], cwd=cwd, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, f"{command}: {done.stdout[-2000:]}\n{done.stderr[-2000:]}"
    return done


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", out, PROJECT, cwd=PROJECT)
    return next(out.glob("*.whl"))


def test_the_wheel_holds_everything_that_is_not_code(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder in ("tables", "show/templates", "show/texts/en", "record/schema"):
        for path in (PROJECT / "reworkkit" / folder).rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                assert path.relative_to(PROJECT).as_posix() in names
    assert any(name.startswith("reworkkit/example_boards/greenhouse-valves/") for name in names)
    assert any(name.endswith("licenses/LICENSE") for name in names)


@pytest.mark.timeout(300)
def test_the_demonstration_runs_from_the_wheel_in_a_clean_environment(wheel: Path, tmp_path: Path) -> None:
    run(sys.executable, "-m", "venv", tmp_path / "clean", cwd=tmp_path)
    tool = tmp_path / "clean" / "bin"
    constraints = PROJECT / "constraints.txt"
    run(
        tool / "python",
        "-m",
        "pip",
        "install",
        "-q",
        "--disable-pip-version-check",
        "-c",
        constraints,
        wheel,
        cwd=tmp_path,
    )
    told = run(tool / "reworkkit", "demo", "--into", "a board", cwd=tmp_path).stdout
    assert (tmp_path / "a board" / "bench-sheet.html").stat().st_size > 10_000
    assert "With your own list" in told.splitlines()[-2] + told.splitlines()[-1]
