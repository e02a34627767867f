"""Names of the copper layers of a board."""


def layers_of(count: int) -> tuple[str, ...]:
    """Return the names of the copper layers from the top; a board of one layer may have it on either side.

    >>> layers_of(4), layers_of(1)
    (('top', 'inner1', 'inner2', 'bottom'), ('top', 'bottom'))
    """
    return ("top", *(f"inner{n}" for n in range(1, count - 1)), "bottom")
