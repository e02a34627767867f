"""The sheet's words: which text of the catalogue stands for each enum value, and helpers that speak."""

import re
from collections.abc import Iterable

from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Fact, Message, NotJudged, message
from reworkkit.model.part import PartIdentity
from reworkkit.model.results import Alert
from reworkkit.model.vocabulary import (
    AlertLevel,
    Basis,
    DiffStatus,
    FacesBasis,
    Fit,
    HeatClass,
    Honesty,
    Mode,
    OperationKind,
    ReadingForm,
    ReadingVerdict,
    Severity,
    Side,
)
from reworkkit.show.sheet import AlertLine
from reworkkit.show.texts import sentence

KINDS: dict[str, Message] = {
    OperationKind.PHOTOGRAPH: message("page-kind-photograph"),
    OperationKind.DISCHARGE: message("page-kind-discharge"),
    OperationKind.STRIP_COATING: message("page-kind-strip-coating"),
    OperationKind.BAKE: message("page-kind-bake"),
    OperationKind.DESOLDER: message("page-kind-desolder"),
    OperationKind.CLEAR_HOLES: message("page-kind-clear-holes"),
    OperationKind.PROVE_PLACE: message("page-kind-prove-place"),
    OperationKind.BEEP_PADS: message("page-kind-beep-pads"),
    OperationKind.FIT: message("page-kind-fit"),
    OperationKind.TACK: message("page-kind-tack"),
    OperationKind.FASTEN: message("page-kind-fasten"),
    OperationKind.SOLDER: message("page-kind-solder"),
    OperationKind.INSPECT: message("page-kind-inspect"),
    OperationKind.WASH: message("page-kind-wash"),
    OperationKind.DRY: message("page-kind-dry"),
    OperationKind.HOLD_POINT: message("page-kind-hold-point"),
    OperationKind.PROGRAM: message("page-kind-program"),
    OperationKind.TEST: message("page-kind-test"),
    OperationKind.RESTORE_COATING: message("page-kind-restore-coating"),
    OperationKind.TORQUE_AGAIN: message("page-kind-torque-again"),
}
STATUSES: dict[DiffStatus, Message] = {
    DiffStatus.FITTED: message("page-status-fitted"),
    DiffStatus.MISSING: message("page-status-missing"),
    DiffStatus.TO_REPLACE: message("page-status-to-replace"),
    DiffStatus.TO_TURN: message("page-status-to-turn"),
    DiffStatus.NOT_INSPECTED: message("page-status-not-inspected"),
    DiffStatus.DO_NOT_FIT: message("page-status-do-not-fit"),
    DiffStatus.NOT_A_PART: message("page-status-not-a-part"),
    DiffStatus.UNEXPECTED: message("page-status-unexpected"),
}
SIDES: dict[Side, Message] = {
    Side.TOP: message("page-side-front"),
    Side.BOTTOM: message("page-side-back"),
    Side.BOTH: message("page-side-both"),
}
THIRDS: dict[tuple[int, int], Message] = {
    (0, 0): message("page-third-upper-left"),
    (1, 0): message("page-third-upper-middle"),
    (2, 0): message("page-third-upper-right"),
    (0, 1): message("page-third-middle-left"),
    (1, 1): message("page-third-middle"),
    (2, 1): message("page-third-middle-right"),
    (0, 2): message("page-third-lower-left"),
    (1, 2): message("page-third-lower-middle"),
    (2, 2): message("page-third-lower-right"),
}
DIRECTIONS: tuple[Message, ...] = (
    message("page-direction-right"),
    message("page-direction-upper-right"),
    message("page-direction-up"),
    message("page-direction-upper-left"),
    message("page-direction-left"),
    message("page-direction-lower-left"),
    message("page-direction-down"),
    message("page-direction-lower-right"),
)
"""Eighths of a turn from the right, counter-clockwise, as seen from the side the part sits on."""
FACES_BASES: dict[FacesBasis, Message] = {
    FacesBasis.PAPERS: message("page-faces-papers"),
    FacesBasis.SEEN: message("page-faces-seen"),
    FacesBasis.ASSUMED: message("page-faces-assumed"),
    FacesBasis.UNKNOWN: message("page-faces-unknown"),
}
MODES: dict[Mode, Message] = {
    Mode.VOLTS: message("page-mode-volts"),
    Mode.OHMS: message("page-mode-ohms"),
    Mode.DIODE: message("page-mode-diode"),
    Mode.AMPS: message("page-mode-amps"),
    Mode.CONTINUITY: message("page-mode-continuity"),
    Mode.CELSIUS: message("page-mode-celsius"),
    Mode.LOOK: message("page-mode-look"),
}
FORMS: dict[ReadingForm, Message] = {
    ReadingForm.VALUE: message("page-form-value"),
    ReadingForm.OVER_RANGE: message("page-form-over-range"),
    ReadingForm.RISING: message("page-form-rising"),
    ReadingForm.JUMPS: message("page-form-jumps"),
}
READ_AS: dict[ReadingVerdict, Message] = {
    ReadingVerdict.INSIDE: message("page-script-inside"),
    ReadingVerdict.OUTSIDE: message("page-script-outside"),
    ReadingVerdict.NOT_JUDGED: message("page-script-not-judged"),
}
HEAT_CLASSES: dict[HeatClass, Message] = {
    HeatClass.LIGHT: message("page-heat-light"),
    HeatClass.MODERATE: message("page-heat-moderate"),
    HeatClass.HEAVY: message("page-heat-heavy"),
    HeatClass.VERY_HEAVY: message("page-heat-very-heavy"),
}
ALERTS: dict[AlertLevel, Message] = {
    AlertLevel.WARNING: message("page-warning"),
    AlertLevel.CAUTION: message("page-caution"),
}
SEVERITIES: dict[Severity, Message] = {
    Severity.STOP: message("page-severity-stop"),
    Severity.CHECK: message("page-severity-check"),
    Severity.NOTE: message("page-severity-note"),
}
BASES: dict[Basis, Message] = {Basis.FILES: message("page-basis-files"), Basis.JOB: message("page-basis-job")}
HONESTIES: dict[Honesty, Message] = {
    Honesty.PUBLISHED: message("page-honesty-published"),
    Honesty.MAKER: message("page-honesty-maker"),
    Honesty.STANDARD: message("page-honesty-standard"),
    Honesty.COMMON_PRACTICE: message("page-honesty-common-practice"),
    Honesty.FROM_MEMORY: message("page-honesty-from-memory"),
    Honesty.YOURS: message("page-honesty-yours"),
    Honesty.DERIVED: message("page-honesty-derived"),
}
FITS: dict[Fit, DiffStatus] = {
    Fit.FIT: DiffStatus.NOT_INSPECTED,
    Fit.DO_NOT_FIT: DiffStatus.DO_NOT_FIT,
    Fit.NOT_A_PART: DiffStatus.NOT_A_PART,
}
SURVEY_WORDS: tuple[tuple[str, Message, str], ...] = (
    ("fitted", message("page-found-there"), "t"),
    ("empty", message("page-found-empty"), "e"),
    ("not inspected", message("page-found-cannot-see"), "c"),
    ("damaged", message("page-found-damaged"), "d"),
    ("wrong part", message("page-found-wrong"), "w"),
    ("reversed", message("page-found-reversed"), "r"),
)


_FROM_A_LIBRARY = re.compile(r"\w:\w|\w_\w")


class Speaker:
    """Speaks one language: messages and slugs in, words out; equal messages are filled in once."""

    def __init__(self, language: str) -> None:
        self.language = language
        self._said: dict[Message, str] = {}

    def say(self, spoken: Message) -> str:
        """Return the sentence of a message."""
        if spoken not in self._said:
            self._said[spoken] = sentence(spoken, self.language)
        return self._said[spoken]

    def all(self, spoken: Iterable[Message]) -> tuple[str, ...]:
        """Return the sentences of several messages, each once, in order."""
        return tuple(dict.fromkeys(self.say(each) for each in spoken))

    def text(self, slug: str, **facts: Fact | int) -> str:
        """Return the text of a slug of the page with its blanks filled in."""
        return self.say(Message(slug, tuple((k, str(v) if isinstance(v, int) else v) for k, v in facts.items())))

    def kind(self, kind: str) -> str:
        """Return an operation kind in words; a kind nobody knows stays as it is."""
        return self.say(KINDS[kind]) if kind in KINDS else kind.replace("_", " ")

    def alerts(self, alerts: Iterable[Alert]) -> tuple[AlertLine, ...]:
        """Return alerts in words, warnings first, each once."""
        lines = {AlertLine(level.value, self.say(ALERTS[level]), self.say(text)): None for level, text in alerts}
        return tuple(sorted(lines, key=lambda line: line.level != AlertLevel.WARNING))


def package_words(identity: PartIdentity | None, text: str) -> str:
    """Return a package as a person says it: the known name in place of a file name out of a drawing library.

    >>> package_words(None, "SOIC-8"), package_words(None, "parts:R_0603_1608Metric")
    ('SOIC-8', 'R_0603_1608Metric')
    """
    if not _FROM_A_LIBRARY.search(text):
        return text
    known = identity.package if identity else None
    return known.name if known else text.rpartition(":")[2]


def element_id(text: str) -> str:
    """Return an id for a name: letters, digits and hyphens stay, anything else becomes its code point.

    >>> element_id("R12"), element_id("VBAT+"), element_id("U$1")
    ('R12', 'VBAT_2b_', 'U_24_1')
    """
    return "".join(sign if sign.isascii() and (sign.isalnum() or sign == "-") else f"_{ord(sign):x}_" for sign in text)


def open_causes(questions: Iterable[NotJudged], speaker: Speaker) -> tuple[str, ...]:
    """Return why something is open, each reason once with all that it is about."""
    found: dict[str, list[str]] = {}
    for one in questions:
        found.setdefault(speaker.say(one.because), []).extend(one.about)
    return tuple(f"{because} ({ref_list(about)})" if about else because for because, about in found.items())


def ref_list(refs: Iterable[str]) -> str:
    """Return designators in natural order, runs folded.

    >>> ref_list(["R3", "R1", "R2", "C5", "R9"])
    'C5, R1–R3, R9'
    """
    runs: list[list[str]] = []
    for ref in sorted(set(refs), key=natural_key):
        if runs and _follows(runs[-1][-1], ref):
            runs[-1].append(ref)
        else:
            runs.append([ref])
    return ", ".join(piece for run in runs for piece in _folded(run))


def _folded(run: list[str]) -> tuple[str, ...]:
    return (f"{run[0]}–{run[-1]}",) if len(run) > 2 else tuple(run)


def _follows(before: str, ref: str) -> bool:
    letters, digits = before.rstrip("0123456789"), before[len(before.rstrip("0123456789")) :]
    return bool(digits) and ref == f"{letters}{int(digits) + 1}"
