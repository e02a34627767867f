"""Two-dimensional finite elements of thermal reliefs, as a reference for the closed form. Not part of the test run.

Needs scikit-fem:  python tests/heat_reference/relief_reference.py
Half a spoke and its share of the plane between two radii; the land at one temperature, the plane's outer ring at
another. The resistance of the full ring of plane is taken off; what is left is the relief.
"""

import json
import math
from pathlib import Path

import numpy as np
from skfem import Basis, BilinearForm, ElementTriP2, MeshTri, condense, solve
from skfem.helpers import dot, grad

HERE = Path(__file__).parent
LAYOUTS = [
    (4, 0.3, 0.25, 0.9),
    (4, 0.5, 0.25, 1.2),
    (2, 0.4, 0.3, 1.0),
    (4, 0.25, 0.4, 0.8),
    (3, 0.6, 0.25, 1.5),
    (4, 0.8, 0.5, 2.0),
]
SHEET = 385.0 * 34.8e-6
OUTER = 8.0


def solved(spokes, width, gap, land, parts=96):
    """Return the resistance [K/W] of one relief; millimetres."""
    plane = land + gap
    share = math.pi / spokes
    half = width / 2
    edge = math.asin(half / plane)
    angles = np.concatenate([np.linspace(0, edge, 17), edge + (share - edge) * np.linspace(0, 1, 33)[1:] ** 1.5])
    radii = np.concatenate([[plane], plane * np.exp(np.linspace(0, math.log(OUTER), parts + 1)[1:])])
    ring = MeshTri.init_tensor(np.log(radii), angles)
    ring = ring.refined(1)
    p = ring.p.copy()
    ring = MeshTri(np.vstack([np.exp(p[0]) * np.cos(p[1]), np.exp(p[0]) * np.sin(p[1])]), ring.t)
    basis = Basis(ring, ElementTriP2())

    @BilinearForm
    def conduct(u, v, w):
        return dot(grad(u), grad(v))

    stiff = conduct.assemble(basis)
    far = basis.get_dofs(lambda x: np.hypot(x[0], x[1]) > plane * OUTER * (1 - 2e-3))
    near = basis.get_dofs(lambda x: (np.hypot(x[0], x[1]) < plane * (1 + 1e-6)) & (x[1] <= half * (1 + 1e-9)))
    u = basis.zeros()
    u[near.all()] = 1.0
    fixed = np.concatenate([near.all(), far.all()])
    u = solve(*condense(stiff, x=u, D=fixed))
    flow = float(u @ (stiff @ u)) * 2 * spokes * SHEET
    spoke = gap / (spokes * width * SHEET)
    return 1.0 / flow - math.log(OUTER) / (2 * math.pi * SHEET) + spoke


if __name__ == "__main__":
    rows = [{"layout_mm": layout, "k_per_w": float(f"{solved(*layout):.6g}")} for layout in LAYOUTS]
    (HERE / "relief.json").write_text(json.dumps({"sheet_w_per_k": SHEET, "rows": rows}) + "\n", encoding="utf-8")
    print(rows)
