"""Heat classes from kind and package: order wanted by common practice, no source."""

import pytest

from reworkkit.compute.heat_class import class_of
from reworkkit.model.part import Package, PartIdentity, PartValue
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import HeatClass, Honesty, Mount, YesNo

MEMORY = Source("memory", "", Honesty.FROM_MEMORY)


def identity(kind: str, package: Package | None) -> PartIdentity:
    value = PartValue(None, None, None, None, None, "")
    return PartIdentity(kind, value, package, "", "", "", YesNo.UNKNOWN, "")


def package(name: str, mount: Mount, tab=None, hidden=0, lead=None, mass=None) -> Package:
    return Package(name, name, mount, 5, 4, 1.5, 8, 1.27, tab, hidden, lead, None, mass, "", MEMORY)


@pytest.mark.parametrize(
    ("package", "expected"),
    [
        (package("SOIC-8", Mount.SMD, mass=0.075), HeatClass.LIGHT),
        (package("SOIC-16W", Mount.SMD, mass=0.15), HeatClass.LIGHT),
        (package("large can", Mount.SMD, mass=5.0), HeatClass.HEAVY),
        (package("0603", Mount.SMD, mass=0.002), HeatClass.LIGHT),
        (package("QFN-16", Mount.SMD, hidden=1, mass=0.022), HeatClass.HEAVY),
        (package("TO-263", Mount.SMD, tab=(10.0, 7.55, 1.27), mass=1.5), HeatClass.VERY_HEAVY),
        (package("TO-252", Mount.SMD, tab=(5.4, 5.24, 0.5), mass=0.33), HeatClass.VERY_HEAVY),
        (package("TO-220", Mount.THROUGH_HOLE, tab=(15.6, 10.0, 1.27), lead=0.4), HeatClass.HEAVY),
        (package("axial", Mount.THROUGH_HOLE, lead=0.2), HeatClass.MODERATE),
        (package("unknown pin", Mount.THROUGH_HOLE), HeatClass.MODERATE),
    ],
)
def test_common_practice_by_package(package: Package, expected: HeatClass) -> None:
    assert class_of(identity("x", package))[0] is expected


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("screw_terminal", HeatClass.HEAVY),
        ("resistor", HeatClass.LIGHT),
        ("unknown", HeatClass.MODERATE),
    ],
)
def test_common_practice_by_kind_alone(kind: str, expected: HeatClass) -> None:
    assert class_of(identity(kind, None))[0] is expected
