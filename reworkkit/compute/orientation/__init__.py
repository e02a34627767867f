"""Orientation of polarised parts: notes read, translated by construction, set against what the board says."""

from reworkkit.compute.orientation.notes import OrientationNote, Toward, parse_note
from reworkkit.compute.orientation.papers import judge_orientation

__all__ = ["OrientationNote", "Toward", "judge_orientation", "parse_note"]
