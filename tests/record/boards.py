"""A small invented board for the tests of the job: a greenhouse watering controller with one hold point."""

import itertools
from pathlib import Path

from reworkkit.model.board import InputFile
from reworkkit.model.job import PlaceState
from reworkkit.model.job_input import BeginInput, CopyPlan, FoundCopy, JobPlace, board_id_of
from reworkkit.model.job_view import Actor
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import message
from reworkkit.model.results import HoldOutline, HoldPoint, Operation, SetUp
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import (
    AlertLevel,
    BandBasis,
    CheckPurpose,
    JointState,
    Mode,
    Place,
    ReadingForm,
)

NAME = "Greenhouse test board (invented)"
PLACES = (
    JobPlace("R1", "resistor", "no", "4k7", "0805"),
    JobPlace("R2", "resistor", "no", "10k", "0805"),
    JobPlace("R3", "resistor", "no", "10k", "0805", fit="do_not_fit"),
    JobPlace("C1", "capacitor_electrolytic", "yes", "100u", "radial"),
    JobPlace("D1", "diode", "yes", "1N4007", "DO-41"),
    JobPlace("U1", "regulator", "yes", "5 V", "TO-220"),
    JobPlace("Q1", "transistor", "yes", "N", "TO-220"),
    JobPlace("J1", "connector", "no", "2 way", "5.08"),
)


def actor(who: str = "ann", device: str = "bench", start: int = 0) -> Actor:
    """Return an actor with a fixed clock and counted ids."""
    numbers = itertools.count(start + 1)
    return Actor(who, device, "2026-01-02T03:04:05Z", lambda: f"{device}-{next(numbers):05d}")


def band(low: float | None, high: float | None, unit: str = "V") -> Band:
    return Band(low, None, high, unit, BandBasis.STATED)


def check(
    name: str, point: str, mode: Mode, expect: Band | ReadingForm | None, hold: str | None, **more: object
) -> Check:
    """Return a check with the fields that matter here."""
    swapped = more.get("swapped")
    assert swapped is None or isinstance(swapped, Band | ReadingForm)
    refs = more.get("refs", ())
    assert isinstance(refs, tuple)
    purpose = CheckPurpose.ORIENTATION if refs else CheckPurpose.HOLD_POINT
    why = message("hold-unread", points=point)
    return Check(name, purpose, Point(point, point), mode, hold, expect, swapped, refs, None, why, 1.0)


def operation(n: int, kind: str, *refs: str, group: str = "group-leaded", hold: str | None = "rails") -> Operation:
    """Return an operation as the work order makes it."""
    alerts = ((AlertLevel.WARNING, message("alert-discharge")),) if kind == "discharge" else ()
    title = message(f"operation-{kind.replace('_', '-')}")
    before = (n - 1,) if n > 1 else ()
    return Operation(n, kind, refs, SetUp("iron"), (), before, hold, alerts, title, group, 120.0)


OPERATIONS = (
    operation(1, "photograph", "TOP", group="group-before-the-iron"),
    operation(2, "solder", "R1", "R2", group="group-small-smd"),
    operation(3, "inspect", "R1", "R2", group="group-small-smd"),
    operation(4, "tack", "U1"),
    operation(5, "solder", "C1", "D1", "U1"),
    operation(6, "inspect", "C1", "D1", "U1"),
    operation(7, "hold_point", "rails", group="group-hold-point", hold=None),
    operation(8, "discharge", "rails", group="group-hold-point", hold=None),
    operation(9, "solder", "Q1", group="group-large-tab", hold=None),
    operation(10, "program", "U1", group="group-program", hold=None),
)
OUTLINE = HoldOutline("rails", "+12V", "J1", None, ("R1", "C1", "D1", "U1"), ("Q1",), ("+5V",), False)
UNPOWERED = (check("ohms-5v", "+5V", Mode.OHMS, band(500, None, "ohm"), None),)
POWERED = (check("volts-5v", "+5V", Mode.VOLTS, band(4.85, 5.15), "rails"),)
ORIENTATION = (check("d1-way", "D1", Mode.DIODE, band(0.4, 0.8), None, swapped=ReadingForm.OVER_RANGE, refs=("D1",)),)


def hold_point(fitted: frozenset[str] = frozenset({"R1", "R2", "C1", "D1", "U1"})) -> HoldPoint:
    return HoldPoint(OUTLINE, fitted, "digest", UNPOWERED, band(0.05, 0.1, "A"), None, POWERED, (), (), ())


def begin_input(copies: int = 1, **changes: object) -> BeginInput:
    """Return what the job of the invented board begins with."""
    missing = tuple(PlaceState(place.ref, place=Place.EMPTY, joint=JointState.NONE) for place in PLACES)
    begun = BeginInput(
        board_id=board_id_of(NAME, [place.ref for place in PLACES]),
        board_name=NAME,
        revision="A",
        parts_file="parts rev A.csv",
        copies=copies,
        places=PLACES,
        plans=(CopyPlan(0, "plan-1", OPERATIONS),),
        found=(FoundCopy(0, missing),),
        outlines=(OUTLINE,),
        hold_points=(hold_point(),),
        checks=ORIENTATION,
        inputs=(InputFile("parts rev A.csv", "parts", "aa", 10),),
        points=("+5V", "+12V", "-12V", "GND"),
    )
    return begun._replace(**changes)


def begun_folder(tmp_path: Path, copies: int = 1, **changes: object) -> Path:
    """Begin the job of the invented board in a fresh folder and return that folder."""
    from reworkkit.pipeline import job

    folder = tmp_path / "board"
    job.begin(folder, begin_input(copies, **changes), actor(start=90_000))
    return folder
