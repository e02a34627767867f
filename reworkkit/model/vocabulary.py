"""The closed lists of words: one enum each, shared by CSV, JSON, SQLite, terminal and page."""

from enum import StrEnum


class Severity(StrEnum):
    """How much a finding matters: stop before going on, check it, or take note."""

    STOP = "stop"
    CHECK = "check"
    NOTE = "note"


class Honesty(StrEnum):
    """Where a figure comes from, in falling order of trust."""

    PUBLISHED = "published"
    MAKER = "maker"
    STANDARD = "standard"
    COMMON_PRACTICE = "common_practice"
    FROM_MEMORY = "from_memory"
    YOURS = "yours"
    DERIVED = "derived"


class BandBasis(StrEnum):
    """How the ends of a band were found."""

    WORST_CASE = "worst_case"
    RSS = "rss"
    P10_P90 = "p10_p90"
    STATED = "stated"
    TABLE = "table"


class Fit(StrEnum):
    """What the design says of a place."""

    FIT = "fit"
    DO_NOT_FIT = "do_not_fit"
    NOT_A_PART = "not_a_part"


class YesNo(StrEnum):
    """An answer that may be missing."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Mount(StrEnum):
    """How a package sits on the board."""

    SMD = "smd"
    THROUGH_HOLE = "through_hole"


class Side(StrEnum):
    """A side of the board; `both` only for pads of plated holes."""

    TOP = "top"
    BOTTOM = "bottom"
    BOTH = "both"


class Place(StrEnum):
    """Facet of a place: is anything there?"""

    EMPTY = "empty"
    FITTED = "fitted"
    NOT_INSPECTED = "not_inspected"


class JointState(StrEnum):
    """Facet of a place: how is it held?"""

    NONE = "none"
    TACKED = "tacked"
    SOLDERED = "soldered"
    LEG_LIFTED = "leg_lifted"


class PartState(StrEnum):
    """Facet of a place: is it the right thing, and whole?"""

    GOOD = "good"
    DAMAGED = "damaged"
    WRONG_PART = "wrong_part"
    REMOVED_ON_PURPOSE = "removed_on_purpose"
    TEMPORARY_LINK = "temporary_link"


class WayRound(StrEnum):
    """Facet of a place: orientation of a polarised part."""

    NOT_NEEDED = "not_needed"
    NOT_CHECKED = "not_checked"
    SEEN = "seen"
    MEASURED = "measured"
    REVERSED = "reversed"


class Fastening(StrEnum):
    """Facet of a place: screw or clip."""

    NONE = "none"
    FINGER_TIGHT = "finger_tight"
    TORQUED = "torqued"


class MadeBy(StrEnum):
    """Facet of a place: whose joint it is; changes the odds in diagnosis."""

    FACTORY = "factory"
    EARLIER_REPAIR = "earlier_repair"
    ME = "me"


class DiffStatus(StrEnum):
    """Status of a place in `diff`."""

    FITTED = "fitted"
    MISSING = "missing"
    TO_REPLACE = "to_replace"
    TO_TURN = "to_turn"
    NOT_INSPECTED = "not_inspected"
    DO_NOT_FIT = "do_not_fit"
    NOT_A_PART = "not_a_part"
    UNEXPECTED = "unexpected"


class Basis(StrEnum):
    """What a result rests on: the files of the folder, or the recorded job."""

    FILES = "files"
    JOB = "job"


class EventKind(StrEnum):
    """What can happen in a job."""

    FOUND = "found"
    DONE = "done"
    STATE = "state"
    SITE = "site"
    PHOTO = "photo"
    PAUSE = "pause"
    PROOF = "proof"
    READING = "reading"
    SUBSTITUTE = "substitute"
    CONFIRM = "confirm"
    NOTE = "note"
    SNAPSHOT = "snapshot"
    UNDO = "undo"


class SiteDamage(StrEnum):
    """Damage to, or repair of, the board itself; outlives the part."""

    LAND_LOST = "land_lost"
    BARREL_LOST = "barrel_lost"
    TRACK_CUT = "track_cut"
    WIRE_REPAIR = "wire_repair"


class OperationKind(StrEnum):
    """The kinds of step in a work order; with a subject, the stable key of a tick."""

    PHOTOGRAPH = "photograph"
    DISCHARGE = "discharge"
    STRIP_COATING = "strip_coating"
    BAKE = "bake"
    DESOLDER = "desolder"
    CLEAR_HOLES = "clear_holes"
    PROVE_PLACE = "prove_place"
    BEEP_PADS = "beep_pads"
    FIT = "fit"
    TACK = "tack"
    FASTEN = "fasten"
    SOLDER = "solder"
    INSPECT = "inspect"
    WASH = "wash"
    DRY = "dry"
    HOLD_POINT = "hold_point"
    PROGRAM = "program"
    TEST = "test"
    RESTORE_COATING = "restore_coating"
    TORQUE_AGAIN = "torque_again"


class AlertLevel(StrEnum):
    """WARNING: someone can be hurt. CAUTION: the board can be damaged."""

    WARNING = "warning"
    CAUTION = "caution"


class Mode(StrEnum):
    """What the meter is set to."""

    VOLTS = "volts"
    OHMS = "ohms"
    DIODE = "diode"
    AMPS = "amps"
    CONTINUITY = "continuity"
    CELSIUS = "celsius"
    LOOK = "look"


class ReadingForm(StrEnum):
    """What the display did."""

    VALUE = "value"
    OVER_RANGE = "over_range"
    RISING = "rising"
    JUMPS = "jumps"


class CheckPurpose(StrEnum):
    """Why a probe is made."""

    HOLD_POINT = "hold_point"
    ORIENTATION = "orientation"
    BARE_PLACE = "bare_place"
    GOODS_IN = "goods_in"
    POWER_STAGE = "power_stage"
    NEXT_PROBE = "next_probe"
    INPUT = "input"
    OUTPUT = "output"


class ReadingVerdict(StrEnum):
    """A reading is inside or outside its band; never "pass" or "safe"."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    NOT_JUDGED = "not_judged"


class PolarityVerdict(StrEnum):
    """An inference agrees with or contradicts the circuit; only a reading proves."""

    AGREES = "agrees"
    CONTRADICTS = "contradicts"
    UNDECIDED = "undecided"
    NO_NOTE = "no_note"
    NOT_POLARISED = "not_polarised"


class FacesBasis(StrEnum):
    """How it is known which way a part faces."""

    PAPERS = "papers"
    SEEN = "seen"
    ASSUMED = "assumed"
    UNKNOWN = "unknown"


class JointKind(StrEnum):
    """Shape of a solder joint."""

    PAD = "pad"
    TAB = "tab"
    HOLE = "hole"
    HIDDEN = "hidden"


class HeatClass(StrEnum):
    """Heat demand of a joint in words, from least to most."""

    LIGHT = "light"
    MODERATE = "moderate"
    HEAVY = "heavy"
    VERY_HEAVY = "very_heavy"


class HeatBasis(StrEnum):
    """Where a heat demand comes from: computed for this joint, or the class of its kind and package."""

    COMPUTED = "computed"
    CLASS = "class"


class Evidence(StrEnum):
    """What proves an orientation."""

    READING = "reading"
    LOOK = "look"
    MAKER = "maker"
