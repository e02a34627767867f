"""One board in one situation, and every result that can be asked of it: computed when first asked, once."""

from functools import cached_property
from typing import TYPE_CHECKING

from reworkkit.model.value_marks import part_marks

if TYPE_CHECKING:
    from reworkkit.compute.potentials import PotentialFinder
    from reworkkit.model.board import Board
    from reworkkit.model.check_sheet import CheckSheet
    from reworkkit.model.difference import Difference
    from reworkkit.model.job import Situation
    from reworkkit.model.live import LiveRun
    from reworkkit.model.messages import Finding
    from reworkkit.model.removal import BareProof, DesolderPlan
    from reworkkit.model.results import (
        Circuit,
        HeatDemand,
        HoldOutline,
        HoldPoint,
        Joint,
        Neighbourhood,
        OrientationVerdict,
        Plan,
        Potentials,
    )


class Work:
    """The lazy graph of results. `board` is the effective one: with accepted substitutes in place."""

    def __init__(self, board: "Board", situation: "Situation") -> None:
        self.board = board
        self.situation = situation

    @cached_property
    def difference(self) -> "Difference":
        """What is missing, to replace, to turn, not inspected, unexpected."""
        from reworkkit.compute.difference import compare_with_list

        return compare_with_list(self.board, self.situation)

    @cached_property
    def audit(self) -> "tuple[Finding, ...]":
        """What is doubtful in the papers."""
        from reworkkit.compute.list_audit import audit_list

        return audit_list(self.board)

    @cached_property
    def verdicts(self) -> "tuple[OrientationVerdict, ...]":
        """Which way round the polarised parts go, with the probes that prove it."""
        from reworkkit.compute.orientation import judge_orientation, with_first_of_kind
        from reworkkit.compute.orientation_checks import with_checks

        verdicts = judge_orientation(self.board, self.potentials, self.potential_finder.refined)
        return with_first_of_kind(self.board, self.situation, with_checks(self.board, self.circuit, verdicts))

    @cached_property
    def potentials(self) -> "Potentials":
        """What each net can be at; for each polarised part with the part taken out."""
        return self.potential_finder.all()

    @cached_property
    def potential_finder(self) -> "PotentialFinder":
        """Works the potentials out, once more when directions of diodes become known."""
        from reworkkit.compute.potentials import PotentialFinder

        return PotentialFinder(self.board, self.circuit)

    @cached_property
    def joints(self) -> "tuple[Joint, ...]":
        """The copper and metal at every pin."""
        from reworkkit.compute.joints import find_joints

        return find_joints(self.board)

    @cached_property
    def joint_heat(self) -> "tuple[HeatDemand, ...]":
        """What every joint asks of the iron, computed."""
        from reworkkit.compute.heat_demand import heat_demand

        return heat_demand(self.board, self.joints, self.board.facts.bench)

    @cached_property
    def heat(self) -> "dict[str, HeatDemand]":
        """What each part asks of the iron: its heaviest joint, or the class of its kind and package."""
        from reworkkit.compute.heat_class import heat_by_class
        from reworkkit.compute.heat_demand import heaviest

        return {**heat_by_class(self.board), **heaviest(self.joint_heat)}

    @cached_property
    def marks(self) -> dict[str, tuple[str, ...]]:
        """What is printed on each part."""
        return {ref: part_marks(part) for ref, part in self.board.parts.items()}

    @cached_property
    def neighbours(self) -> "dict[str, Neighbourhood]":
        """What stands near each part: what gets hot with it and what it hides."""
        from reworkkit.compute.neighbourhood import neighbourhoods

        return neighbourhoods(self.board, self.heat)

    @cached_property
    def outlines(self) -> "tuple[HoldOutline, ...]":
        """Which parts each hold point needs and protects."""
        from reworkkit.compute.hold_outline import hold_outlines
        from reworkkit.compute.power_up import with_needs

        return with_needs(hold_outlines(self.board), self.board, self.circuit)

    @cached_property
    def circuit(self) -> "Circuit":
        """What netlist, list and facts say electrically."""
        from reworkkit.pipeline.circuits import circuit_of

        return circuit_of(self.board)

    @cached_property
    def guessed_circuit(self) -> "Circuit":
        """The circuit with parts of unknown type as what only they can be: readings are weighed against it."""
        from reworkkit.pipeline.circuits import circuit_of

        return circuit_of(self.board, guessing=True)

    @cached_property
    def hold_points(self) -> "tuple[HoldPoint, ...]":
        """The hold points with figures, each for the parts that are fitted when the plan reaches it."""
        from reworkkit.compute.power_up import hold_points

        return hold_points(self.board, self.circuit, self.outlines, self.plan, self.situation)

    @cached_property
    def live_run(self) -> "LiveRun | None":
        """The first run at high energy, where board.toml has [live]."""
        from reworkkit.compute.live_run import live_run_of

        return live_run_of(self.board, self.situation)

    @cached_property
    def bare_proof(self) -> "BareProof":
        """The probes that prove the places where parts came off or come off, and the wires to run."""
        from reworkkit.compute.bare_place import prove_bare_places

        return prove_bare_places(self.board, self.situation)

    @cached_property
    def removal(self) -> "DesolderPlan":
        """How the parts come off that the work order takes off."""
        from reworkkit.compute.removal import Known, plan_removal, taken_off

        known = Known(self.joints, self.joint_heat, self.heat, self.neighbours, self.outlines)
        return plan_removal(self.board, self.situation, taken_off(self.plan), known, self.bare_proof)

    @cached_property
    def functional(self) -> "tuple[CheckSheet, ...]":
        """Inputs and outputs to try, inputs first."""
        from reworkkit.compute.functional_test import input_checks, output_checks

        return input_checks(self.board), output_checks(self.board)

    @cached_property
    def goods_in(self) -> "CheckSheet":
        """What each bought part must read before it is used."""
        from reworkkit.compute.goods_in import goods_in_checks

        return goods_in_checks(self.board, self.difference, self.marks)

    @cached_property
    def confirmed_outlines(self) -> "tuple[HoldOutline, ...]":
        """The hold points with what their confirmation confirms, for the record."""
        from reworkkit.compute.live_run import with_cautions

        return with_cautions(self.outlines, self.live_run)

    @cached_property
    def plan(self) -> "Plan":
        """The work order."""
        from reworkkit.compute.work_order import order_work

        return order_work(
            self.board, self.difference, self.situation, self.heat, self.verdicts, self.neighbours, self.outlines
        )
