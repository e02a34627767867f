from reworkkit.show.zones import Extent, grid_for, row_letter, third_of, zone_of

ISO_5457 = "ISO 5457 (reference system of drawing sheets: letters downwards, numerals from the left), from memory"
BOARD = grid_for(Extent(0, 0, 80, 60))


def test_letters_leave_out_i_and_o(published):
    letters = "".join(row_letter(row) for row in range(24))
    published("row letters of a drawing sheet", letters, "ABCDEFGHJKLMNPQRSTUVWXYZ", source=ISO_5457)


def test_numerals_run_from_the_left_and_letters_from_the_top(published):
    corners = [zone_of(BOARD, x, y) for x, y in ((1, 59), (79, 59), (1, 1), (79, 1))]
    published("zones of the four corners, 8 by 6 fields", corners, ["1A", "8A", "1F", "8F"], source=ISO_5457)


def test_a_zone_is_written_figure_first():
    """Invariant: no zone can be read as a designator, which begins with a letter."""
    assert all(zone_of(BOARD, x, y)[0].isdigit() for x in range(0, 80, 7) for y in range(0, 60, 7))


def test_every_point_lies_in_one_zone_and_neighbours_differ_by_one():
    """Invariant: walking right by one field raises the figure by one and keeps the letter."""
    for column in range(7):
        here, there = zone_of(BOARD, 5 + column * 10, 30), zone_of(BOARD, 15 + column * 10, 30)
        assert int(there[0]) == int(here[0]) + 1
        assert there[1:] == here[1:]


def test_fields_stay_between_10_and_25_mm():
    for width, height in ((20, 15), (76, 50), (160, 100), (400, 300)):
        grid = grid_for(Extent(0, 0, width, height))
        assert 5 <= width / grid.columns <= 27
        assert grid.rows >= 1


def test_outside_takes_the_nearest_zone_and_a_line_of_parts_has_one_row():
    assert zone_of(BOARD, -5, 70) == "1A"
    assert zone_of(grid_for(Extent(0, 0, 50, 0)), 30, 0).endswith("A")


def test_thirds():
    assert [third_of(BOARD, x, y) for x, y in ((1, 59), (40, 30), (79, 1))] == [(0, 0), (1, 1), (2, 2)]
