"""The audit: a board's list, placement and netlist against themselves and each other."""

from reworkkit.compute.list_audit.cells import audit_cells
from reworkkit.compute.list_audit.look_alikes import audit_look_alikes
from reworkkit.compute.list_audit.packages import audit_packages
from reworkkit.compute.list_audit.positions import audit_positions
from reworkkit.compute.list_audit.rows import audit_rows
from reworkkit.compute.list_audit.sources import audit_sources
from reworkkit.compute.list_audit.values import audit_values
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding
from reworkkit.model.vocabulary import Severity

_RANK = {severity: rank for rank, severity in enumerate(Severity)}


def audit_list(board: Board) -> tuple[Finding, ...]:
    """Return what is doubtful about a board's papers, worst first; one finding for each cause.

    `stop`: going on would solder the wrong thing. `check`: somebody must look. `note`: explained, good to know.
    Within one severity the checks stand in the order of what a mistake there costs. What reading the list has found
    already (`board.findings`) is not said again.
    """
    found = [
        *audit_rows(board),
        *audit_cells(board),
        *audit_values(board),
        *audit_packages(board),
        *audit_sources(board),
        *audit_positions(board),
        *audit_look_alikes(board),
    ]
    return tuple(sorted(found, key=lambda finding: _RANK[finding.severity]))
