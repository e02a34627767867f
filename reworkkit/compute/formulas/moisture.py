"""Body temperature class of a package by J-STD-020C; volume and thickness in millimetres."""


def size_class(volume_mm3: float) -> int:
    """Return 0, 1 or 2 for a body below 350 mm3, from 350 to 2000 mm3, above. Source: J-STD-020C, Table 4-2.

    >>> size_class(29.0), size_class(407.0), size_class(2001.0)
    (0, 1, 2)
    """
    return 0 if volume_mm3 < 350.0 else 1 if volume_mm3 <= 2000.0 else 2


def is_within(thickness_mm: float, below_mm: float) -> bool:
    """Return whether a body belongs to the row of thicknesses below `below_mm`. Source: J-STD-020C, Table 4-2.

    >>> is_within(1.5, 1.6), is_within(2.5, 2.5)
    (True, False)
    """
    return thickness_mm < below_mm
