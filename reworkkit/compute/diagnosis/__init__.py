"""A reading is off: the faults that explain all readings, and the next best probe.

    diagnosis = diagnose(board, circuit, readings, Stage("logic rails", "+12V", 0.2, fitted))

`prepare` gives the dictionary of a stage, which no reading changes; `engine_of` puts readings into it; `next_checks`
weighs what to measure next.
"""

from reworkkit.compute.diagnosis.diagnose import Stage, diagnose, engine_of, next_checks, prepare, reading_twice
from reworkkit.compute.diagnosis.known import Known
from reworkkit.compute.diagnosis.priors import Priors
from reworkkit.compute.diagnosis.reach import fed_by_one

__all__ = ["Known", "Priors", "Stage", "diagnose", "engine_of", "fed_by_one", "next_checks", "prepare", "reading_twice"]
