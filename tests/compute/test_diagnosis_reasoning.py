"""The reasoning core against the textbook circuits of model-based diagnosis."""

from collections.abc import Callable
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.compute.diagnosis.reasoning import entropy, information, posterior, smallest_sets

DE_KLEER = "de Kleer and Williams, Artificial Intelligence 32 (1987) 97-130; values and kernel in MIT 16.412J slides"
REITER = "Reiter, Artificial Intelligence 32 (1987) 57-95"
STUDY = "independent: a study of the same circuit with another program, before this one was written"
POLYBOX = ("M1", "M2", "M3", "A1", "A2")
INPUTS = {"a": 3, "b": 2, "c": 2, "d": 3, "e": 3}
RANGE = range(41)


def polybox_explains(broken: frozenset[str]) -> bool:
    """Return whether F = 10 and G = 12 are possible when the broken parts may do anything."""
    free = {part: RANGE if part in broken else None for part in ("M1", "M2", "M3")}
    right = {
        "M1": INPUTS["a"] * INPUTS["c"],
        "M2": INPUTS["b"] * INPUTS["d"],
        "M3": INPUTS["c"] * INPUTS["e"],
    }
    choices = [free[part] or (right[part],) for part in ("M1", "M2", "M3")]
    return any(("A1" in broken or x + y == 10) and ("A2" in broken or y + z == 12) for x, y, z in product(*choices))


def test_the_minimal_diagnoses_of_the_polybox(published: Callable[..., None]) -> None:
    found = {tuple(sorted(one)) for one in smallest_sets(POLYBOX, polybox_explains, 3)}
    expected = {("M1",), ("A1",), ("A2", "M2"), ("M2", "M3")}
    published("minimal diagnoses of the polybox", sorted(found), sorted(expected), source=DE_KLEER)


def adder_explains(broken: frozenset[str]) -> bool:
    """Return whether a full adder with inputs 1, 0, 1 can show sum 1 and carry 0."""
    a, b, carry = 1, 0, 1
    bits = (0, 1)
    for x1, a1, a2 in product(bits, bits, bits):
        fits = (
            ("X1" in broken or x1 == a ^ b)
            and ("A1" in broken or a1 == a & b)
            and ("A2" in broken or a2 == x1 & carry)
            and ("X2" in broken or x1 ^ carry == 1)
            and ("O1" in broken or a1 | a2 == 0)
        )
        if fits:
            return True
    return False


def test_the_minimal_diagnoses_of_the_full_adder(published: Callable[..., None]) -> None:
    found = {tuple(sorted(one)) for one in smallest_sets(("X1", "X2", "A1", "A2", "O1"), adder_explains, 3)}
    expected = {("X1",), ("A2", "X2"), ("O1", "X2")}
    published("minimal diagnoses of the full adder", sorted(found), sorted(expected), source=REITER)


def inner_values(world: frozenset[str]) -> dict[tuple[int, int, int], float]:
    """Return the chance of each (X, Y, Z) together with F = 10 and G = 12; a broken part gives any value alike."""
    any_value = 1 / len(RANGE)
    right = (6, 6, 6)
    choices = [RANGE if part in world else (value,) for part, value in zip(("M1", "M2", "M3"), right, strict=True)]
    found = {}
    for x, y, z in product(*choices):
        chance = any_value ** len(world & {"M1", "M2", "M3"})
        chance *= any_value if "A1" in world else float(x + y == 10)
        chance *= any_value if "A2" in world else float(y + z == 12)
        if chance:
            found[x, y, z] = chance
    return found


def polybox_worlds() -> tuple[list[frozenset[str]], np.ndarray]:
    """Return the sets of broken parts that explain the readings, with their shares at 1 % a part."""
    every = [frozenset(p for p, bad in zip(POLYBOX, bits, strict=True) if bad) for bits in product((0, 1), repeat=5)]
    worlds = [world for world in every if inner_values(world)]
    logs = [len(w) * np.log(0.01) + (5 - len(w)) * np.log(0.99) + np.log(sum(inner_values(w).values())) for w in worlds]
    return worlds, posterior(np.array(logs))


def test_the_shares_of_the_polybox(published: Callable[..., None]) -> None:
    worlds, shares = polybox_worlds()
    for part in ("M1", "A1"):
        alone = float(shares[worlds.index(frozenset({part}))])
        published(f"share of {part} alone at 1 % a part", alone, 0.498, source=STUDY, absolute=0.005)


def test_the_best_probe_of_the_polybox_is_x(published: Callable[..., None]) -> None:
    """Over the minimal diagnoses, weighted by what they suppose, as the study did."""
    worlds = list(smallest_sets(POLYBOX, polybox_explains, 3))
    shares = posterior(np.array([len(w) * np.log(0.01) + (5 - len(w)) * np.log(0.99) for w in worlds]))
    gains = {}
    for place, point in enumerate("XYZ"):
        likelihoods = np.zeros((len(worlds), len(RANGE)))
        for n, world in enumerate(worlds):
            for values, chance in inner_values(world).items():
                likelihoods[n, values[place]] += chance
        gains[point] = information(shares, likelihoods / likelihoods.sum(axis=1, keepdims=True))
    published("best probe of the polybox", max(gains, key=lambda p: gains[p]), "X", source=DE_KLEER)
    for point, expected in (("X", 0.680), ("Y", 0.054), ("Z", 0.030)):
        published(f"what probing {point} tells [nat]", gains[point], expected, source=STUDY, tolerance=0.06)


def test_a_question_with_one_answer_tells_nothing() -> None:
    assert information(np.array([0.3, 0.7]), np.ones((2, 1))) == pytest.approx(0.0, abs=1e-12)


@given(st.lists(st.floats(0.01, 1.0), min_size=2, max_size=6), st.integers(2, 5), st.randoms())
def test_information_lies_between_nothing_and_all(weights: list[float], answers: int, draw: object) -> None:
    """Invariant of information theory: 0 <= I <= H."""
    shares = np.array(weights) / sum(weights)
    rng = np.random.default_rng(len(weights) * 7 + answers)
    likelihoods = rng.random((len(weights), answers)) + 1e-6
    likelihoods /= likelihoods.sum(axis=1, keepdims=True)
    gain = information(shares, likelihoods)
    assert -1e-9 <= gain <= entropy(shares) + 1e-9
