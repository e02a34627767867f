"""Kills a working process at random moments and checks the job file after each. Run as a script; prints counts as JSON.

python -m tests.proof.kill_driver FOLDER KILLS SEED
"""

import json
import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.job_input import CopyPlan
from reworkkit.model.job_view import Actor
from reworkkit.pipeline import job, job_readings, recall
from reworkkit.record import merge, projection, refreshing  # noqa: F401 - loaded before the fork
from reworkkit.record.job_store import JOB_FILE, JobStore
from tests.record.boards import OPERATIONS, actor, begin_input

REFS = ("R1", "R2", "C1", "D1", "U1", "Q1")
WORDS = ("tacked", "fitted", "leg lifted", "missing", "burnt", "finger-tight")
LONGEST_S = 0.15
DERIVED = ("place_state", "step_done", "reading_now", "disagreement")


def new_actor() -> Actor:
    return Actor("ann", "bench", "2026-01-02T03:04:05Z", lambda: os.urandom(12).hex())


def act(folder: Path, kind: str, dice: random.Random, info: object) -> list[str]:
    """Do one thing and return the ids that are acknowledged by it."""
    me, ref = new_actor(), dice.choice(REFS)
    if kind == "tick":
        step = dice.choice(("solder", "inspect", "desolder"))
        return [e.id for e in job.tick(folder, [ref], me, step=step, anyway=True, reason="trial").events]
    if kind == "set":
        return [e.id for e in job.set_state(folder, dice.choice(WORDS), [ref, dice.choice(REFS)], me).events]
    if kind == "reading":
        return [e.id for e in job_readings.reading(folder, "+5V", f"{dice.random() * 5:.3f}V", me).events]
    if kind == "merge":
        events = [
            {
                "id": os.urandom(12).hex(),
                "copy": 1,
                "at": "2026-01-02T03:04:05Z",
                "who": "p",
                "kind": "done",
                "subject": r,
            }
            for r in REFS
        ]
        for event in events:
            event["detail"] = {"kind": "solder"}
        page = {"format": "reworkkit.page_state/1", "board_id": info.board_id, "device": "phone", "events": events}  # type: ignore[attr-defined]
        job.merge(folder, json.dumps(page), me)
        return [str(event["id"]) for event in events]
    ids = [f"refresh-{os.urandom(8).hex()}-{n}" for n in range(100)]
    names = iter(ids)
    plan = CopyPlan(0, dice.choice("ab"), OPERATIONS[: dice.randint(4, 10)])
    job.refresh(folder, begin_input(plans=(plan,)), me._replace(new_id=lambda: next(names)), accept=True)
    return [ids[0]]


def work(folder: Path, seed: int, out: int) -> None:
    """Do one thing after the other until killed; say each id once it is acknowledged."""
    dice, info = random.Random(seed), job.open_job(folder)
    while True:
        kind = dice.choice(("tick", "set", "reading", "merge", "refresh"))
        with suppress(ReworkkitError):
            os.write(out, b"".join(f"{kind} {one}\n".encode() for one in act(folder, kind, dice, info)))


def killed_once(folder: Path, seed: int) -> list[str]:
    """Start a worker, kill it at a random moment, and return what it had acknowledged."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            work(folder, seed, writer)
        finally:
            os._exit(1)
    os.close(writer)
    time.sleep(random.Random(-seed).random() * LONGEST_S)
    os.kill(child, signal.SIGKILL)
    with os.fdopen(reader, "rb") as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    return said.decode().split("\n")[:-1]


def whole(path: Path) -> bool:
    connection = sqlite3.connect(path)
    try:
        return bool(connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    finally:
        connection.close()


def derived_is_right(path: Path) -> bool:
    other = Path(shutil.copy(path, path.with_name("rebuilt.sqlite")))
    try:
        with JobStore.open(other, writing=True) as store, store.acting():
            before = [sorted(store.connection.execute(f"SELECT * FROM {t}"), key=repr) for t in DERIVED]
            projection.rebuild(store.connection)
            return before == [sorted(store.connection.execute(f"SELECT * FROM {t}"), key=repr) for t in DERIVED]
    finally:
        other.unlink()


def begin_killed_once(folder: Path, seed: int) -> str:
    """Kill a process that begins a job; afterwards there is no job, or a whole one."""
    folder.mkdir()
    child = os.fork()
    if child == 0:
        try:
            job.begin(folder, begin_input(), new_actor())
        finally:
            os._exit(0)
    time.sleep(random.Random(seed).random() * 0.04)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    if not (folder / JOB_FILE).exists():
        return "none"
    recall.status(folder)
    return "whole" if whole(folder / JOB_FILE) else "corrupt"


def main(folder: Path, kills: int, seed: int) -> dict[str, object]:
    board = folder / "board"
    job.begin(board, begin_input(), actor(start=90_000))
    path = board / JOB_FILE
    acknowledged: dict[str, str] = {}
    corrupt = wrong = hot = 0
    for n in range(kills):
        for line in killed_once(board, seed + n):
            kind, _, event_id = line.partition(" ")
            acknowledged[event_id] = kind
        hot += path.with_name(path.name + "-journal").exists()
        recall.status(board)
        corrupt += not whole(path)
        if n % 10 == 9:
            wrong += not derived_is_right(path)
    stored = {event["id"] for event in recall.export(board)["events"]}
    begun = Counter(begin_killed_once(folder / f"new{n}", seed + n) for n in range(max(10, kills // 10)))
    return {
        "kills": kills,
        "killed_in_the_middle_of_writing": hot,
        "acknowledged": len(acknowledged),
        "by_command": dict(Counter(acknowledged.values())),
        "lost": len(acknowledged.keys() - stored),
        "corrupt": corrupt,
        "derived_wrong": wrong,
        "begin": dict(begun),
    }


if __name__ == "__main__":
    print(json.dumps(main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))))
