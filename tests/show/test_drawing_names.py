import pytest

from reworkkit.show.drawing_names import shape_of
from reworkkit.show.drawing_parts import SHAPES
from tests.show.boards import identity

CASES = [
    ("resistor", "R chip 0603", 2, "smd", "chip"),
    ("capacitor_ceramic", "C chip 0402", 2, "smd", "chip"),
    ("diode", "MiniMELF", 2, "smd", "melf"),
    ("diode_schottky", "SMA", 2, "smd", "sma"),
    ("diode", "SOD-123", 2, "smd", "sod"),
    ("diode", "DO-41", 2, "th", "axial"),
    ("transistor", "SOT-23", 3, "smd", "sot23"),
    ("transistor", "SOT-89", 3, "smd", "sot89"),
    ("linear_regulator", "SOT-223", 4, "smd", "sot223"),
    ("ic", "SOIC-8", 8, "smd", "soic"),
    ("ic", "TSSOP-16", 16, "smd", "soic"),
    ("ic", "LQFP-44 10x10", 44, "smd", "qfp"),
    ("ic", "QFN-32 5x5", 32, "smd", "qfn"),
    ("ic", "DIP-8", 8, "th", "dip"),
    ("transistor", "TO-92", 3, "th", "to92"),
    ("mosfet", "TO-220", 3, "th", "to220"),
    ("igbt", "TO-247", 3, "th", "to247"),
    ("mosfet", "TO-252", 3, "smd", "to252"),
    ("mosfet", "TO-263", 3, "smd", "to263"),
    ("capacitor_tantalum", "Moulded 3528-21", 2, "smd", "tantalum"),
    ("capacitor_polymer_aluminium", "Moulded 7343-43", 2, "smd", "polymer"),
    ("capacitor_aluminium_electrolytic", "Can 6.3x5.4", 2, "smd", "can"),
    ("capacitor_aluminium_electrolytic", "Radial can D10", 2, "th", "radial"),
    ("capacitor_aluminium_electrolytic", "Axial can D8 L18", 2, "th", "axial"),
    ("capacitor_film", "Film box P10", 2, "th", "box"),
    ("led", "LED chip 0805", 2, "smd", "led_chip"),
    ("led", "LED 5 mm", 2, "th", "led_leaded"),
    ("connector", "pin header 1x3", 3, "th", "header"),
    ("terminal", "Terminal 5.08 2-way", 2, "th", "terminal"),
    ("crystal", "HC-49/U", 2, "th", "crystal"),
    ("magnetic_current_sensor", "SIP-4 sensor", 4, "th", "sensor4"),
    ("unknown", "odd thing", 7, "th", "block"),
]


@pytest.mark.parametrize(("kind", "package", "pins", "mount", "shape"), CASES, ids=lambda value: str(value))
def test_shape_of_a_part(kind, package, pins, mount, shape):
    assert shape_of(identity(kind, "x", package, pins, 3, 2, mount)) == shape


def test_every_shape_that_is_drawn_has_a_way_to_it():
    assert {case[-1] for case in CASES} | {"inductor"} == set(SHAPES)
    assert shape_of(identity("inductor", "10u", "Inductor 6x6x2.8", 2, 6, 6, "smd")) == "inductor"
