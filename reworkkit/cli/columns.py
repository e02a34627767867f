"""The answers of --column: which column of the list is what."""

from reworkkit.errors import ReworkkitError


def columns_of(answers: list[str] | None) -> dict[str, str]:
    """Return role -> heading for answers such as `designator=Pos.`; raises ReworkkitError for one without `=`.

    >>> columns_of(["designator=Pos.", "value=Wert"])
    {'designator': 'Pos.', 'value': 'Wert'}
    """
    columns = {}
    for answer in answers or []:
        role, equals, heading = answer.partition("=")
        if not (equals and role.strip() and heading.strip()):
            raise ReworkkitError("column-answer", answer=answer)
        columns[role.strip()] = heading.strip()
    return columns
