"""Parts whose type number tells more than their kind: arrays, amplifiers, sensors, logic, load switches."""

from collections.abc import Callable

from reworkkit.compute.circuit.amplifiers import amplifier
from reworkkit.compute.circuit.audio_amplifiers import audio_amplifier
from reworkkit.compute.circuit.bipolars import switch_array
from reworkkit.compute.circuit.bricks import brick
from reworkkit.compute.circuit.chargers import charger
from reworkkit.compute.circuit.couplers import coupler_by_type
from reworkkit.compute.circuit.current_sensors import current_sensor, current_transducer
from reworkkit.compute.circuit.ideal_diodes import ideal_diode
from reworkkit.compute.circuit.instrumentation import instrumentation_amplifier
from reworkkit.compute.circuit.isolated_amplifiers import isolated_amplifier
from reworkkit.compute.circuit.latches import flip_flops, timer
from reworkkit.compute.circuit.led_drivers import current_sink, led_driver
from reworkkit.compute.circuit.logic import analog_switch, gates, supervisor
from reworkkit.compute.circuit.platinum import platinum
from reworkkit.compute.circuit.power_switches import power_switch
from reworkkit.compute.circuit.protectors import protector
from reworkkit.compute.circuit.pwm_controllers import pwm_controller
from reworkkit.compute.circuit.regulator_723 import regulator_723
from reworkkit.compute.circuit.sensors import (
    magnetic_sensor,
    magnetic_switch,
    sense_amplifier,
    thermal_shunt,
    voltage_sensor,
)
from reworkkit.compute.circuit.signal_drivers import signal_driver
from reworkkit.compute.circuit.source_arrays import source_array
from reworkkit.compute.circuit.thyristors import thyristor
from reworkkit.compute.circuit.wiring import CHIPS, Wiring
from reworkkit.model.part import Part
from reworkkit.model.results import Element

_MAKERS: tuple[Callable[[Wiring, Part], list[Element] | None], ...] = (
    switch_array,
    source_array,
    isolated_amplifier,
    coupler_by_type,
    signal_driver,
    instrumentation_amplifier,
    protector,
    thyristor,
    brick,
    sense_amplifier,
    current_sensor,
    current_transducer,
    magnetic_sensor,
    magnetic_switch,
    voltage_sensor,
    supervisor,
    ideal_diode,
    power_switch,
    led_driver,
    gates,
    analog_switch,
    flip_flops,
    timer,
    regulator_723,
    charger,
    pwm_controller,
    audio_amplifier,
    amplifier,
)
_TWO_LEADS: tuple[Callable[[Wiring, Part], list[Element] | None], ...] = (platinum, thermal_shunt, current_sink)
_KINDS = CHIPS | frozenset(
    [
        "switch",
        "transistor_bipolar",
        "transistor",
        "mosfet",
        "unknown",
        "fuse",
        "resettable_fuse",
        "voltage_reference",
        "linear_regulator",
        "switching_regulator",
        "isolator",
        "optocoupler",
        "gate_driver",
        "diode",
        "diac",
        "current_sensor",
    ]
)
"""Kinds that the words of such a part may have led to: a load switch is no switch that a finger moves."""


def by_type(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the elements of a part by its type number; None where that tells nothing beyond the kind."""
    for maker in _TWO_LEADS:
        if (found := maker(wiring, part)) is not None:
            return found
    if part.identity.kind not in _KINDS or len(wiring.pins(part.ref)) < len(("supply", "out", "ground")):
        return None
    for maker in _MAKERS:
        if (found := maker(wiring, part)) is not None:
            return found
    return None
