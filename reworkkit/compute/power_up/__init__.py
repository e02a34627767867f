"""First power-up in hold points: what the meter and the supply will show, for the parts that are fitted then."""

from reworkkit.compute.power_up.feeding import supplies_of
from reworkkit.compute.power_up.fitted import fitted_at, fitted_now
from reworkkit.compute.power_up.stage import hold_points, power_up, with_needs
from reworkkit.compute.power_up.symptoms import all_symptoms, symptoms_of

__all__ = [
    "all_symptoms",
    "fitted_at",
    "fitted_now",
    "hold_points",
    "power_up",
    "supplies_of",
    "symptoms_of",
    "with_needs",
]
