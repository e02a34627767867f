"""`tick`, `next`, `status`: at most 1.3 times a bare Typer command with 50,000 events; and the import rule."""

import json
import os
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

from reworkkit.model.job import Event, PlaceState
from reworkkit.model.job_input import CopyPlan, FoundCopy, JobPlace
from reworkkit.model.vocabulary import EventKind, Place
from reworkkit.pipeline import job, recall
from reworkkit.record.job_store import JOB_FILE, JobStore
from tests.record.boards import actor, begin_input, operation

PLACES = 2000
EVENTS = 50_000
GOAL = 1.3
HEAVY = ("pandas", "numpy", "scipy", "rich", "jinja2", "reworkkit.read", "reworkkit.tables", "reworkkit.model.results")
HELLO = """
import typer
app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
@app.command()
def hello(name: str = "you") -> None:
    print(f"hello {name}")
@app.command()
def bye(name: str = "you") -> None:
    print(f"bye {name}")
app(["hello"])
"""
OURS = "import sys; from reworkkit.cli import run; sys.argv[0] = 'reworkkit'; run()"
MODULES = """
import sys, json
from reworkkit.cli import main
code = main(sys.argv[1:])
sys.stdout.flush()
print(json.dumps(sorted(sys.modules)), file=sys.stderr)
sys.exit(code)
"""


def long_job(folder: Path, events: int) -> Path:
    """Return a folder with a job of 2,000 places and so many events."""
    refs = [f"R{n}" for n in range(1, PLACES + 1)]
    operations = tuple(
        one
        for n in range(0, PLACES, 20)
        for one in (
            operation(2 * (n // 20) + 1, "solder", *refs[n : n + 20], hold=None),
            operation(2 * (n // 20) + 2, "inspect", *refs[n : n + 20], hold=None),
        )
    )
    begun = begin_input(
        places=tuple(JobPlace(ref, "resistor", "no", "10k", "0603") for ref in refs),
        plans=(CopyPlan(0, "long", operations),),
        found=(FoundCopy(0, tuple(PlaceState(ref, place=Place.EMPTY) for ref in refs)),),
        outlines=(),
        hold_points=(),
        checks=(),
    )
    me = actor(start=100_000)
    job.begin(folder, begun, me)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        for n in range(events):
            kind, detail = (EventKind.DONE, {"kind": "solder"}) if n % 3 else (EventKind.NOTE, {"text": f"note {n}"})
            ref = refs[n % (PLACES - 200)]
            store.append([Event(0, me.new_id(), 1, me.at, me.who, me.device, kind, ref, dict(detail))])
    assert recall.at_event(folder) > events
    return folder


def registered() -> bool:
    from reworkkit.cli.commands import application

    names = {info.name or getattr(info.callback, "__name__", "") for info in application().registered_commands}
    return {"tick", "next", "status"} <= names


@pytest.mark.parametrize("command", [["status"], ["next"], ["tick", "R1"]], ids=lambda c: c[0])
def test_the_import_rule(tmp_path: Path, command: list[str]) -> None:
    if not registered():
        pytest.skip("the job commands are not registered on the command line")
    long_job(tmp_path / "b", 10)
    arguments = [
        *command,
        "--board",
        str(tmp_path / "b"),
        *(["--anyway", "--reason", "x"] if command[0] == "tick" else []),
    ]
    done = subprocess.run([sys.executable, "-c", MODULES, *arguments], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    loaded = json.loads(done.stderr.splitlines()[-1])
    assert not [name for name in loaded if name.startswith(HEAVY)]


def cpu_s(arguments: list[str]) -> float:
    before = os.times()
    subprocess.run(arguments, capture_output=True, check=True)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


@pytest.mark.proof
@pytest.mark.timeout(600)
def test_within_the_goal_with_fifty_thousand_events(tmp_path: Path) -> None:
    assert registered()
    folder = long_job(tmp_path / "b", EVENTS)
    python = [sys.executable, "-c"]
    runs: dict[str, list[float]] = {"hello": [], "status": [], "next": [], "tick": []}
    for n in range(15):
        runs["hello"].append(cpu_s([*python, HELLO]))
        for name in ("status", "next"):
            runs[name].append(cpu_s([*python, OURS, name, "--board", str(folder)]))
        runs["tick"].append(cpu_s([*python, OURS, "tick", f"R{PLACES - n}", "--board", str(folder)]))
    floor = statistics.median(runs["hello"])
    ratios = {name: statistics.median(times) / floor for name, times in runs.items()}
    print(f"hello {floor * 1000:.0f} ms of CPU; ratios {ratios}")
    assert max(ratios.values()) <= GOAL, ratios
