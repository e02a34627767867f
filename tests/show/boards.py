"""An invented board for the page's tests, built by hand: a greenhouse watering controller of twelve parts."""

from decimal import Decimal

from reworkkit.model.board import Board, InputFile
from reworkkit.model.difference import Counts, Difference, DifferenceItem
from reworkkit.model.facts import BoardFacts, HoldPointFacts
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.netlist import Pad, Pin, Placement
from reworkkit.model.part import Package, Part, PartIdentity, PartValue
from reworkkit.model.results import (
    Conflict,
    HeatDemand,
    HoldOutline,
    HoldPoint,
    Operation,
    OrientationVerdict,
    Plan,
    PolarityMark,
    SetUp,
)
from reworkkit.model.values import Band, Quantity, Source, Where
from reworkkit.model.vocabulary import (
    AlertLevel,
    BandBasis,
    Basis,
    CheckPurpose,
    DiffStatus,
    FacesBasis,
    Fit,
    HeatBasis,
    HeatClass,
    Honesty,
    Mode,
    Mount,
    Place,
    PolarityVerdict,
    ReadingForm,
    Severity,
    Side,
    YesNo,
)
from reworkkit.show.sheet import Sheet
from reworkkit.show.sheet_build import build_sheet
from reworkkit.show.sheet_words import KINDS

BY_HAND = SetUp()
MEMORY = Source("memory", "", Honesty.FROM_MEMORY)

# ref, kind, value, package, pins, length, width, mount, x, y, rotation, side, status
ROWS = (
    ("R1", "resistor", "10k", "R chip 0603", 2, 1.6, 0.8, "smd", 12, 40, 0, "top", "missing"),
    ("R2", "resistor", "10k", "R chip 0603", 2, 1.6, 0.8, "smd", 16, 40, 0, "top", "fitted"),
    ("R3", "resistor", "470R", "R chip 0603", 2, 1.6, 0.8, "smd", 20, 40, 90, "top", "missing"),
    ("C1", "capacitor_tantalum", "10u 16V", "Moulded 3528-21", 2, 3.5, 2.8, "smd", 30, 44, 0, "top", "missing"),
    (
        "C2",
        "capacitor_aluminium_electrolytic",
        "470u 25V",
        "Radial can D10",
        2,
        10,
        10,
        "th",
        42,
        42,
        0,
        "top",
        "missing",
    ),
    ("D1", "diode_schottky", "SS34", "SMA", 2, 4.3, 2.6, "smd", 10, 28, 180, "top", "to_turn"),
    ("D2", "led", "green", "LED chip 0805", 2, 2, 1.25, "smd", 60, 10, 0, "bottom", "missing"),
    ("U1", "linear_regulator", "3.3 V", "SOT-223", 4, 6.5, 3.5, "smd", 34, 26, 0, "top", "missing"),
    ("U2", "microcontroller", "8-bit controller", "SOIC-8", 8, 4.9, 3.9, "smd", 52, 26, 90, "top", "missing"),
    ("Q1", "mosfet", "logic-level N", "TO-220", 3, 10, 4.4, "th", 66, 40, 0, "top", "to_replace"),
    ("U3", "magnetic_current_sensor", "5 A", "SIP-4 sensor", 4, 5, 1.6, "th", 66, 24, 0, "top", "missing"),
    ("J1", "terminal", "valve 1", "Terminal 5.08 2-way", 2, 10, 8, "th", 8, 10, 0, "top", "fitted"),
)


def identity(kind: str, value: str, package: str, pins: int, length: float, width: float, mount: str) -> PartIdentity:
    outline = Package(
        package,
        package,
        Mount.SMD if mount == "smd" else Mount.THROUGH_HOLE,
        length,
        width,
        1.0,
        pins,
        None,
        None,
        0,
        None,
        None,
        None,
        "",
        MEMORY,
    )
    plain = PartValue(None, None, None, None, None, value)
    return PartIdentity(kind, plain, outline, package, f"INV-{value[:4].strip()}", "", YesNo.UNKNOWN, f"{kind} {value}")


def make_board(rows: tuple[tuple[object, ...], ...] = ROWS, name: str = "Greenhouse watering controller") -> Board:
    parts, placements = {}, {}
    for line, row in enumerate(rows, start=2):
        ref, kind, value, package, pins, length, width, mount, x, y, turn, side, _ = row
        made = identity(
            str(kind), str(value), str(package), int(str(pins)), float(str(length)), float(str(width)), str(mount)
        )
        parts[str(ref)] = Part(str(ref), made, Fit.FIT, (), Where("bom.csv", line))
        placements[str(ref)] = Placement(
            str(ref), float(str(x)), float(str(y)), float(str(turn)), Side(str(side)), Where("placement.csv", line)
        )
    pads = {"A": Pad(8.0, 28.0, 2, 2, 0, None, True, Side.TOP), "K": Pad(12.0, 28.0, 2, 2, 0, None, True, Side.TOP)}
    pins_of = {
        ("D1", n): Pin("D1", n, n, "+12V" if n == "A" else "VIN", (pad,), Where("netlist.ipc", 9))
        for n, pad in pads.items()
    }
    return Board(
        name,
        "B",
        (InputFile("bom.csv", "parts", "9f" * 32, 812), InputFile("placement.csv", "placement", "1c" * 32, 640)),
        (),
        parts,
        placements,
        pins_of,
        outline=((0, 0), (76, 0), (76, 50), (0, 50)),
        facts=BoardFacts(
            hold_points=(
                HoldPointFacts(
                    "valve driver", needs=("U2",), before=("Q1",), limit=Quantity(Decimal("0.2"), "A", "0.2 A")
                ),
            )
        ),
    )


def make_difference(board: Board, rows: tuple[tuple[object, ...], ...] = ROWS) -> Difference:
    items = tuple(
        DifferenceItem(
            str(row[0]),
            DiffStatus(str(row[12])),
            str(row[2]),
            str(row[3]),
            board.parts[str(row[0])].identity.part_number,
            "bom.csv",
            n,
            "",
        )
        for n, row in enumerate(rows, start=2)
    )
    sums = {status: sum(item.status is status for item in items) for status in DiffStatus}
    counts = Counts(
        len(items),
        len(items),
        0,
        0,
        sums[DiffStatus.FITTED],
        sums[DiffStatus.MISSING],
        sums[DiffStatus.TO_REPLACE],
        sums[DiffStatus.TO_TURN],
        sums[DiffStatus.NOT_INSPECTED],
        0,
    )
    return Difference(counts, items, (), ())


def verdict(
    ref: str, kind: str, mark: PolarityMark | None, outcome: PolarityVerdict, **more: object
) -> OrientationVerdict:
    fields: dict[str, object] = {
        "needs": {},
        "faces": {},
        "faces_basis": FacesBasis.UNKNOWN,
        "why": message("unknown-ref", ref=ref),
        "mark": mark,
    }
    return OrientationVerdict(ref=ref, kind=kind, verdict=outcome, **{**fields, **more})  # type: ignore[arg-type]


def make_verdicts() -> tuple[OrientationVerdict, ...]:
    band = PolarityMark("diode_band", "band round one end", "cathode", True, MEMORY)
    bevel = PolarityMark("tantalum_moulded", "band or bevelled edge", "plus", True, MEMORY)
    stripe = PolarityMark("aluminium_radial", "stripe down the side", "minus", True, MEMORY)
    doubt = PolarityMark("led_chip", "dot, arrow, T or green mark", "unknown", False, MEMORY)
    dot = PolarityMark("ic_pin_1", "dot, notch or bevelled edge", "pin_1", True, MEMORY)
    probe = Check(
        "d1-forward",
        CheckPurpose.ORIENTATION,
        Point("D1", "D1.A", "D1.K"),
        Mode.DIODE,
        None,
        Band(0.2, 0.3, 0.4, "V", BandBasis.TABLE),
        ReadingForm.OVER_RANGE,
        ("D1",),
        None,
        message("unknown-ref", ref="D1"),
        1.0,
    )
    return (
        verdict(
            "D1",
            "diode_schottky",
            band,
            PolarityVerdict.CONTRADICTS,
            note="band towards J1",
            where=Where("fitted.csv", 7),
            faces={"cathode": "J1"},
            faces_basis=FacesBasis.SEEN,
            needs={"cathode": ("K", "VIN"), "anode": ("A", "+12V")},
            checks=(probe,),
        ),
        verdict(
            "C1",
            "capacitor_tantalum",
            bevel,
            PolarityVerdict.AGREES,
            note="band to the left",
            where=Where("bom.csv", 5),
        ),
        verdict("C2", "capacitor_aluminium_electrolytic", stripe, PolarityVerdict.NO_NOTE),
        verdict("D2", "led", doubt, PolarityVerdict.UNDECIDED),
        verdict("U2", "microcontroller", dot, PolarityVerdict.AGREES, note="dot upper left"),
        verdict(
            "U3",
            "magnetic_current_sensor",
            None,
            PolarityVerdict.NO_NOTE,
            question=NotJudged(
                ("U3",), message("unknown-ref", ref="U3"), message("unknown-ref", ref="U3"), 'U3 = "dot towards J1"'
            ),
        ),
    )


def make_plan() -> Plan:
    iron = SetUp("iron", "chisel 2.4 mm", 340, None, "top")
    text = message("page-hold-meaning")

    def op(n: int, kind: str, refs: tuple[str, ...], setup: SetUp = BY_HAND, **more: object) -> Operation:
        fields: dict[str, object] = {
            "why": (text,),
            "after": (n - 1,) if n > 1 else (),
            "hold_point": None,
            "alerts": (),
            "title": KINDS[kind],
            "group": "page-lay-out" if n > 2 else "page-first",
        }
        return Operation(n=n, kind=kind, refs=refs, setup=setup, **{**fields, **more})  # type: ignore[arg-type]

    warning = ((AlertLevel.WARNING, message("page-hold-no-figures")),)
    return Plan(
        "4f1c22d90a",
        (
            op(1, "photograph", ("TOP", "BOTTOM")),
            op(2, "discharge", ("BOARD",), alerts=warning),
            op(3, "desolder", ("Q1", "D1"), iron),
            op(4, "solder", ("R1", "R3", "C1", "D1"), iron),
            op(5, "inspect", ("R1", "R3", "C1", "D1"), iron),
            op(6, "solder", ("U1", "U2", "D2"), iron, hold_point="logic rail"),
            op(7, "solder", ("C2", "U3", "Q1"), SetUp("iron", "chisel 4.6 mm", 420, 100, "top", strap=False)),
        ),
        (Conflict((text, text), (3, 7), ((text, text), (text, text)), 1),),
        (),
        message("page-places"),
    )


def make_heat() -> dict[str, HeatDemand]:
    window = (SetUp("iron", "chisel 4.6 mm", None, 100), Band(312.0, 330.0, 395.0, "C", BandBasis.STATED))
    never = (SetUp("iron", "conical 0.8 mm"), Band(391.0, 400.0, 420.0, "C", BandBasis.STATED))
    windows = ((window[0], 320, 390), (never[0], 400, 420))
    return {
        "R1": HeatDemand("R1", None, None, (), None, None, HeatClass.LIGHT, None, None, HeatBasis.CLASS),
        "Q1": HeatDemand(
            "Q1",
            "2",
            8.0,
            (window, never),
            120.0,
            9.0,
            HeatClass.VERY_HEAVY,
            True,
            None,
            HeatBasis.COMPUTED,
            windows=windows,
        ),
    }


def make_hold_points() -> tuple[HoldPoint, ...]:
    def check(n: int, mode: Mode, hold: str | None, expect: Band | ReadingForm) -> Check:
        point = Point("+3V3", "+3V3")
        return Check(
            f"c{n}",
            CheckPurpose.HOLD_POINT,
            point,
            mode,
            hold,
            expect,
            None,
            (),
            "ab12",
            message("unknown-ref", ref="U1"),
            1.0,
        )

    outline = HoldOutline("logic rail", "+12V", "TP1", None, ("D1", "U1"), ("U2",), ("+3V3",), True)
    return (
        HoldPoint(
            outline,
            frozenset({"D1", "U1"}),
            "ab12",
            (check(1, Mode.OHMS, None, Band(800.0, None, None, "ohm", BandBasis.WORST_CASE)),),
            Band(None, 0.12, 0.15, "A", BandBasis.WORST_CASE),
            Band(0.4, 0.6, 0.9, "s", BandBasis.WORST_CASE),
            (check(2, Mode.VOLTS, "logic rail", Band(3.2, 3.3, 3.4, "V", BandBasis.WORST_CASE)),),
            (message("unknown-ref", ref="U1"),),
            ((AlertLevel.WARNING, message("page-hold-no-figures")),),
            (),
        ),
    )


def make_situation(
    job: bool = True, looked: bool = True, done: tuple[tuple[str, str], ...] = (("R3", "solder"),)
) -> Situation:
    states = {ref: PlaceState(ref, Place.FITTED, steps_done=frozenset({kind})) for ref, kind in done}
    return Situation(1, Basis.JOB if job else Basis.FILES, 12 if job else None, states, looked=looked)


def make_sheet(board: Board | None = None, *, job: str | None = "2f6f9a", **more: object) -> Sheet:
    board = board or make_board()
    given: dict[str, object] = {
        "difference": more.get("difference") or make_difference(board),
        "verdicts": make_verdicts(),
        "plan": make_plan(),
        "situation": make_situation(bool(job)),
        "marks": {"R1": ("103",), "R3": ("471",)},
        "heat": make_heat(),
        "hold_points": make_hold_points(),
    } | more
    return build_sheet(board, language="en", version="0.1.0", job_id=job, copy=1, **given)  # type: ignore[arg-type]


def stop_finding(text: str = "R9") -> Finding:
    return Finding(message("unknown-ref", ref=text), Severity.STOP, ("R9",), (Where("bom.csv", 4),))


def unseen(board: Board) -> Difference:
    rows = tuple((*row[:12], "not_inspected") for row in ROWS)
    return make_difference(board, rows)


EMPTY_PLAN = Plan("0", (), (), (), message("page-places"))
Spoken = Message
