"""reworkkit: finish part-populated circuit boards, with a companion that computes."""

__version__ = "0.1.0"
