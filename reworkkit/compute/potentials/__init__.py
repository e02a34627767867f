"""Potentials: what each net can be at, with its derivation; for each polarised part with the part itself taken out."""

from reworkkit.compute.potentials.derive import net_potentials

__all__ = ["net_potentials"]
