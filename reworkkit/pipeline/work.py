"""One board in one situation, and every result that can be asked of it: computed when first asked, once."""

from functools import cached_property
from typing import TYPE_CHECKING

from reworkkit.model.value_marks import part_marks

if TYPE_CHECKING:
    from reworkkit.model.board import Board
    from reworkkit.model.job import Situation
    from reworkkit.model.messages import Finding
    from reworkkit.model.results import (
        Difference,
        HeatDemand,
        HoldOutline,
        Joint,
        Neighbourhood,
        OrientationVerdict,
        Plan,
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
        """Which way round the polarised parts go."""
        from reworkkit.compute.orientation import judge_orientation

        return judge_orientation(self.board)

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

        return hold_outlines(self.board)

    @cached_property
    def plan(self) -> "Plan":
        """The work order."""
        from reworkkit.compute.work_order import order_work

        return order_work(
            self.board, self.difference, self.situation, self.heat, self.verdicts, self.neighbours, self.outlines
        )
