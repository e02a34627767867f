"""Orientation of polarised parts: notes read, translated by construction, set against what the board says."""

from reworkkit.compute.orientation.cathodes import cathodes_elsewhere
from reworkkit.compute.orientation.first import with_first_of_kind
from reworkkit.compute.orientation.notes import OrientationNote, Toward, parse_note
from reworkkit.compute.orientation.papers import judge_orientation

__all__ = ["OrientationNote", "Toward", "cathodes_elsewhere", "judge_orientation", "parse_note", "with_first_of_kind"]
