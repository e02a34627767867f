"""An operation before it is numbered."""

from typing import NamedTuple

from reworkkit.model.messages import Message
from reworkkit.model.results import Alert, SetUp
from reworkkit.model.vocabulary import OperationKind


class Draft(NamedTuple):
    """An operation before it is numbered."""

    group: str
    kind: OperationKind
    refs: tuple[str, ...]
    setup: SetUp
    why: tuple[Message, ...] = ()
    alerts: tuple[Alert, ...] = ()
