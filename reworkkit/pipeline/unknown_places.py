"""The refusal of designators that a board does not have: all of them are named, not the first alone."""

from collections.abc import Sequence

from reworkkit.errors import ReworkkitError
from reworkkit.model.designator import canonical
from reworkkit.model.designator_list import in_short

_LONGEST = 200


def not_on_board(unknown: Sequence[str]) -> ReworkkitError:
    """Return the refusal for one designator, or for several written the short way (`C9-C99`)."""
    refs = list(dict.fromkeys(map(canonical, unknown)))
    if len(refs) == 1:
        return ReworkkitError("unknown-ref", ref=refs[0])
    named = in_short(refs)
    return ReworkkitError(
        "unknown-refs", refs=named if len(named) <= _LONGEST else f"{named[:_LONGEST]} ...", count=len(refs)
    )
