"""Potentials: what each net can be at, with its derivation; for each polarised part with the part itself taken out."""

from reworkkit.compute.potentials.derive import PotentialFinder, net_potentials

__all__ = ["PotentialFinder", "net_potentials"]
