"""The speed table of `make bench`: CPU ratios of whole processes against the floor named, or CPU seconds."""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROUNDS = 5
HELLO = (
    "import typer\napp = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)\n"
    "@app.command()\ndef hello(name: str = 'you') -> None: print(name)\n"
    "@app.command()\ndef bye(name: str = 'you') -> None: print(name)\napp(['hello'])"
)
READ_CSV = "import sys, pandas; pandas.read_csv(sys.argv[1], dtype=str)"
OURS = "from reworkkit.cli import run; run()"


class Line(NamedTuple):
    """One line of the table."""

    what: str
    measured: str
    goal: str
    kept: bool


def cpu_s(*arguments: str) -> float:
    """Return the CPU time of a whole process, user and system [s]."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-c", *arguments], env=environment, capture_output=True, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def ratio(ours: tuple[str, ...], floor: tuple[str, ...]) -> float:
    """Return the median of paired CPU ratios, ours over the floor."""
    cpu_s(*ours)
    return statistics.median(cpu_s(*ours) / cpu_s(*floor) for _ in range(ROUNDS))


def long_list(path: Path, rows: int) -> Path:
    """Write an invented parts list of so many rows."""
    values = ("10k", "100n", "1u", "4k7", "1N4148", "LM358", "BAT54", "22u 16V", "LED green", "470R")
    lines = ["Designator,Value,Package,Description,Part number,Quantity"]
    lines += [f"{'RCDU'[n % 4]}{n},{values[n * 7 % 10]},0603,some part,PN{n % 50},1" for n in range(rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def lists(folder: Path) -> list[Line]:
    """Compare `diff` of a short and a long list with the floors."""
    short, long = long_list(folder / "60.csv", 60), long_list(folder / "100000.csv", 100_000)
    against_hello = ratio((OURS, "diff", str(short)), (HELLO,))
    against_pandas = ratio((OURS, "diff", str(long)), (READ_CSV, str(long)))
    return [
        Line("diff of 60 parts, against a bare Typer command", f"{against_hello:.1f} x", "-", True),
        Line("diff of 100,000 parts, against pandas.read_csv", f"{against_pandas:.1f} x", "3 x", against_pandas <= 3),
    ]


def models() -> list[Line]:
    """Return the lines of the heat model and of the diagnosis."""
    from tests import bench_diagnosis, bench_heat

    return [
        Line(
            t.what,
            f"{t.seconds:.3f} s",
            f"{t.goal_s:g} s" if t.goal_s else "-",
            t.goal_s is None or t.seconds <= t.goal_s,
        )
        for t in (*bench_heat.measure(), *bench_diagnosis.measure())
    ]


def polarity() -> Line:
    """Return the line of polarity judged from the circuit."""
    from tests.bench_polarity import GOAL_S, measure

    pins, parts, seconds = measure()
    what = f"polarity of {parts} parts on {pins:,} pins, after imports"
    return Line(what, f"{seconds:.2f} s", f"{GOAL_S:g} s", seconds <= GOAL_S)


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        lines = [*lists(Path(folder)), *models()]
    widest = max(len(line.what) for line in lines)
    for line in lines:
        print(
            f"{line.what:<{widest}}  {line.measured:>9}  goal {line.goal:>7}  {'' if line.kept else 'MISSED'}".rstrip()
        )


if __name__ == "__main__":
    main()
