"""Three-dimensional finite elements of whole joints, as a reference for the ring model. Not part of the test run.

Needs scikit-fem and scipy:  python tests/heat_reference/solid_reference.py [CASE ...]
Writes one JSON file a case beside this script: what was modelled and the joint's rise per kelvin of tip setting at
the ends of the time steps. Trilinear hexahedra on a graded grid, copper sheets as layers of their own thickness,
every conductor as a box; the tip end is one node behind a contact spread evenly over its patch. Time by a two-stage
diagonally implicit scheme of second order; the step doubles every six steps from 5 ms.
"""

import json
import math
import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementHex1, FacetBasis, LinearForm, MeshHex
from skfem.helpers import grad

HERE = Path(__file__).parent
COPPER, OUNCE = (385.0, 385.0, 8933.0 * 385.0), 34.8e-6
LAMINATE = (0.90, 0.30, 1850.0 * 1100.0)
TAB = (350.0, 350.0, 8933.0 * 385.0)
SOLDER = (58.0, 58.0, 7380.0 * (220.0 + 61000.0 / 235.0))
FILM, CONTACT = 15.0, 1.1e5
TIP = {"inner": 0.60, "heat": 0.35, "face": 5e-6, "width": 2.4e-3}


def tab_case(
    board=60,
    pour=30,
    ounces=1.0,
    bottom=True,
    edge=None,
    second=None,
    size=(10.0, 7.55, 1.27),
    land=(10.8, 9.4),
    inner=0.0,
):
    return {
        "kind": "tab",
        "board": board,
        "pour": pour,
        "ounces": ounces,
        "bottom": bottom,
        "edge": edge,
        "second": second,
        "size": size,
        "land": land,
        "inner": inner,
    }


def pad_case(land=(1.0, 1.0), board=50, pour=50, ounces=1.0, bottom=False, track=0.0):
    return {
        "kind": "pad",
        "board": board,
        "pour": pour,
        "ounces": ounces,
        "bottom": bottom,
        "land": land,
        "track": track,
        "edge": None,
        "second": None,
        "inner": 0.0,
    }


def hole_case(
    hole=1.0, land=2.0, board=50, ounces=1.0, lead=0.41, lead_k=110.0, row=0, inner=0.0, top=True, spokes=0.0
):
    return {
        "kind": "hole",
        "hole": hole,
        "land": land,
        "board": board,
        "ounces": ounces,
        "lead": lead,
        "lead_k": lead_k,
        "row": row,
        "inner": inner,
        "edge": None,
        "second": None,
        "top": top,
        "spokes": spokes,
    }


CASES = {
    "tab_two_planes": tab_case(),
    "tab_top_only": tab_case(bottom=False),
    "tab_two_ounces": tab_case(ounces=2.0),
    "tab_edge": tab_case(edge=7.0),
    "tab_corner": tab_case(edge=7.0, second=8.0),
    "tab_thin": tab_case(pour=25, size=(5.4, 5.24, 0.5), land=(6.4, 5.8)),
    "tab_inner": tab_case(inner=0.5),
    "pad_pour": pad_case(),
    "pad_track": pad_case(pour=0, track=0.3),
    "pad_large": pad_case(land=(2.6, 1.7), pour=15),
    "hole_planes": hole_case(),
    "hole_inner": hole_case(inner=0.5),
    "hole_row": hole_case(row=4),
    "tab_thin_edge": tab_case(pour=25, size=(5.4, 5.24, 0.5), land=(6.4, 5.8), edge=5.0),
    "tab_small_pour": tab_case(pour=15, bottom=False, board=40),
    "pad_long": pad_case(land=(3.0, 0.8), bottom=True),
    "hole_relief": hole_case(spokes=0.3),
    "hole_large": hole_case(hole=2.0, land=3.6, lead=1.8, ounces=2.0),
}


def graded(marks, finest, growth=1.45, coarsest=4e-3):
    """Return grid lines through all marks: fine beside every mark of the joint, growing outwards."""
    lines = [marks[0]]
    for a, b in pairwise(marks):
        lines += list(_between(a, b, finest, growth, coarsest))
    return np.unique(np.round(lines, 9))


def _between(a, b, finest, growth, coarsest):
    steps, left, right = [], a, b
    fine_left, fine_right = finest(a), finest(b)
    low, high = [], []
    while right - left > fine_left + fine_right:
        if fine_left <= fine_right:
            left += fine_left
            low.append(left)
            fine_left = min(fine_left * growth, coarsest)
        else:
            right -= fine_right
            high.append(right)
            fine_right = min(fine_right * growth, coarsest)
    steps = low + high[::-1] + [b]
    if len(steps) > 2 and low and high and high[-1] - low[-1] < 0.3 * min(fine_left, fine_right):
        steps.remove(low[-1])
    return steps


def boxes(case):
    """Return the boxes of metal (x0, x1, y0, y1, z0, z1, material), patch of the tip, extent of the board; metres."""
    t, half = 1.6e-3, case["board"] / 2e3
    cu = case["ounces"] * OUNCE
    x1 = case["edge"] / 1e3 if case["edge"] else half
    y1 = case["second"] / 1e3 if case["second"] else half
    extent = (x1 - 2 * half, x1, y1 - 2 * half, y1)
    metal, inner = [], case["inner"] * OUNCE
    planes = [(0.0, cu)] if case.get("bottom", True) else []
    if inner:
        planes += [(0.125 * t - inner / 2, 0.125 * t + inner / 2), (0.875 * t - inner / 2, 0.875 * t + inner / 2)]
    for low, high in planes:
        metal.append((*extent, low, high, COPPER))
    top = (t - cu, t)
    if case["kind"] == "hole":
        return _hole(case, extent, metal, top, t)
    lx, ly = (s / 2e3 for s in case["land"])
    metal.append((-lx, lx, -ly, ly, *top, COPPER))
    if case["pour"]:
        p = case["pour"] / 2e3
        px = min(max(-p, extent[0]), x1 - 2 * p), min(p, x1)
        py = min(max(-p, extent[2]), y1 - 2 * p), min(p, y1)
        metal.append((px[0], px[1], py[0], py[1], *top, COPPER))
    if case.get("track"):
        w = case["track"] / 2e3
        metal.append((lx, half, -w, w, *top, COPPER))
    film = (t, t + 0.15e-3)
    if case["kind"] == "pad":
        metal.append((-lx, lx, -ly, ly, *film, SOLDER))
        return metal, (-lx, lx, -ly, ly, film[1], film[1]), extent, film[1]
    a, b, h = (s / 1e3 for s in case["size"])
    metal.append((-a / 2, a / 2, -b / 2, b / 2, *film, SOLDER))
    metal.append((-a / 2, a / 2, -b / 2, b / 2, film[1], film[1] + h, TAB))
    w = TIP["width"] / 2
    return metal, (-w, w, -b / 2, -b / 2, film[1], film[1] + h), extent, film[1] + h


def _hole(case, extent, metal, top, t):
    """A plated hole as a square pin of the same section, its axial conductance and heat shared out over the section."""
    if case["top"]:
        metal.append((*extent, *top, COPPER))
    r, rl = case["hole"] / 2e3, case["land"] / 2e3
    side, land = math.sqrt(math.pi) * r / 2, math.sqrt(math.pi) * rl / 2
    section = math.pi * r * r
    barrel, lead = math.pi * 25e-6 * (2 * r + 25e-6), case["lead"] * 1e-6
    k = (barrel * 385.0 + (section - lead) * 58.0 + lead * case["lead_k"]) / section
    heat = ((barrel + lead) * COPPER[2] + (section - lead) * SOLDER[2]) / section
    if case["spokes"]:
        for layer in (top, (0.0, case["ounces"] * OUNCE)):
            metal += _relief(land, case["spokes"] / 2e3, layer)
    for n in range(case["row"] or 1):
        x = (n - 1) * 2.54e-3 if case["row"] else 0.0
        metal.append((x - land, x + land, -land, land, *top, COPPER))
        metal.append((x - land, x + land, -land, land, 0.0, case["ounces"] * OUNCE, COPPER))
        metal.append((x - side, x + side, -side, side, 0.0, t, (400.0, k, heat)))
    return metal, (-land, land, -land, land, t, t), extent, t


def _relief(land, half, layer):
    """A square gap of 0.25 mm with four spokes across it."""
    gap = land + 0.25e-3
    return [
        (-gap, gap, -gap, gap, *layer, LAMINATE),
        (-gap, gap, -half, half, *layer, COPPER),
        (-half, half, -gap, gap, *layer, COPPER),
    ]


def grid_lines(case, metal, patch, extent, top):

    def marks(axis):
        low, high = extent[2 * axis], extent[2 * axis + 1]
        inside = {m for box in [*metal, patch] for m in box[2 * axis : 2 * axis + 2] if low < m < high}
        return sorted(inside | {low, high})

    joint = max(abs(patch[0]), abs(patch[1]), 1e-3) * 1.6 + (8e-3 if case.get("row") else 0)
    if case["kind"] == "tab":
        joint = case["land"][0] / 2e3 + 1e-3
    within = {"tab": 0.4e-3, "pad": 0.08e-3, "hole": 0.08e-3}[case["kind"]]

    def fine(mark):
        return within if abs(mark) <= joint else 2.5e-3

    x, y = graded(marks(0), fine), graded(marks(1), fine)
    reading = {0.125 * 1.6e-3} if case["kind"] == "hole" and not case["inner"] else set()
    heights = sorted(reading | {0.0, 1.6e-3, top} | {m for box in metal for m in box[4:6]})
    lines = []
    for a, b in pairwise(heights):
        parts = 1 if b - a < 0.06e-3 else 2 if b - a < 0.2e-3 else max(3, min(7, round((b - a) / 0.22e-3)))
        lines += list(np.linspace(a, b, parts, endpoint=False))
    return x, y, np.array([*lines, heights[-1]])


def solve(case):
    metal, patch, extent, top = boxes(case)
    x, y, z = grid_lines(case, metal, patch, extent, top)
    mesh = MeshHex.init_tensor(x, y, z)
    cx, cy, cz = mesh.p[:, mesh.t].mean(axis=1)
    along, through, heat = (np.full(len(cx), v) for v in LAMINATE)
    kept = cz < 1.6e-3
    for x0, x1, y0, y1, z0, z1, (ka, kt, c) in metal:
        here = (cx > x0) & (cx < x1) & (cy > y0) & (cy < y1) & (cz > z0) & (cz < z1)
        along[here], through[here], heat[here] = ka, kt, c
        kept |= here
    mesh = mesh.restrict(np.nonzero(kept)[0])
    along, through, heat = along[kept], through[kept], heat[kept]
    basis = Basis(mesh, ElementHex1())
    stiff, mass = _assemble(basis, along, through, heat)
    film = _film(mesh, basis, extent)
    return _march(mesh, stiff + film, mass, _patch(mesh, patch), case)


def _assemble(basis, along, through, heat):
    ka, kt, c = (np.broadcast_to(v[:, None], (len(v), basis.X.shape[1])) for v in (along, through, heat))

    @BilinearForm
    def conduct(u, v, w):
        g, h = grad(u), grad(v)
        return w.ka * (g[0] * h[0] + g[1] * h[1]) + w.kt * g[2] * h[2]

    @BilinearForm
    def store(u, v, w):
        return w.c * u * v

    return conduct.assemble(basis, ka=ka, kt=kt).tocsc(), store.assemble(basis, c=c).tocsc()


def _film(mesh, basis, extent):
    facets = mesh.facets_satisfying(
        lambda p: (np.abs(p[2]) < 1e-9) | (np.abs(p[2] - 1.6e-3) < 1e-9), boundaries_only=True
    )
    side = FacetBasis(mesh, ElementHex1(), facets=facets)

    @BilinearForm
    def lose(u, v, w):
        return FILM * u * v

    return lose.assemble(side).tocsc()


def _patch(mesh, patch):
    """Return the share of every node in the tip's patch (sums to one) and the patch's area."""
    lo, hi = np.array(patch[0::2]) - 1e-8, np.array(patch[1::2]) + 1e-8
    facets = mesh.facets_satisfying(lambda p: np.all((lo <= p.T) & (hi >= p.T), axis=-1).T, boundaries_only=True)
    side = FacetBasis(mesh, ElementHex1(), facets=facets)

    @LinearForm
    def one(v, w):
        return 1.0 * v

    @BilinearForm
    def touch(u, v, w):
        return 1.0 * u * v

    share = one.assemble(side)
    return share, touch.assemble(side).tocsc(), share.sum()


def _joint_nodes(mesh, case):
    """Where the joint's temperature is read: solder under the tab (mean), top of a pad, both ends of a hole."""
    t = 1.6e-3
    if case["kind"] == "hole":
        r = case["hole"] / 2e3 * 0.9
        core = (np.abs(mesh.p[0]) < r) & (np.abs(mesh.p[1]) < r)
        near = core & (np.abs(mesh.p[2] - t) < 1e-9)
        depth = np.unique(np.round(mesh.p[2][core], 9))
        level = depth[np.argmin(np.abs(depth - 0.125 * t))]
        return near, core & (np.abs(mesh.p[2] - level) < 1e-9), float(1 - level / t)
    size = case.get("size", (*case["land"], 0))
    inside = (np.abs(mesh.p[0]) <= size[0] / 2e3 + 1e-9) & (np.abs(mesh.p[1]) <= size[1] / 2e3 + 1e-9)
    near = inside & (np.abs(mesh.p[2] - t - 0.15e-3) < 1e-9)
    return near, near, 0.0


def _march(mesh, stiff, mass, contact, case):
    share, touch, area = contact
    g = CONTACT * min(TIP["face"], area)
    n = len(share)
    k = sp.bmat(
        [
            [stiff + touch * (g / area), sp.csc_matrix(-g * share / area).T],
            [sp.csc_matrix(-g * share / area), sp.csc_matrix([[g + TIP["inner"]]])],
        ]
    ).tocsc()
    m = sp.block_diag([mass, sp.csc_matrix([[TIP["heat"]]])]).tocsc()
    load = np.zeros(n + 1)
    load[n] = TIP["inner"]
    near, far, depth = _joint_nodes(mesh, case)
    shares = _area_mean(mesh, near) if case["kind"] == "tab" else None

    def weights(u, where):
        values = u[:n][where]
        return float(values.mean() if shares is None else values @ shares)

    u = np.zeros(n + 1)
    u[n] = 1.0
    gamma, dt, now, rows = 1 - math.sqrt(0.5), 5e-3, 0.0, []
    while now < 20.0:
        lu = splu((m + gamma * dt * k).tocsc())
        for _ in range(6):
            k1 = lu.solve(load - k @ u)
            k2 = lu.solve(load - k @ (u + (1 - gamma) * dt * k1))
            u = u + dt * ((1 - gamma) * k1 + gamma * k2)
            now += dt
            rows.append([now, weights(u, near), weights(u, far)])
        dt *= 2
    steady = splu(k).solve(load)
    return {
        "case": case,
        "unknowns": n + 1,
        "depth": depth,
        "contact_w_per_k": g,
        "rows": [[float(f"{v:.6g}") for v in row] for row in rows],
        "steady": [weights(steady, near), weights(steady, far)],
    }


def _area_mean(mesh, where):
    """Weights of nodes of a rectangular grid for the mean over their area."""
    p = mesh.p[:2, where]

    def width(v):
        lines = np.unique(np.round(v, 9))
        edges = np.concatenate([[lines[0]], (lines[1:] + lines[:-1]) / 2, [lines[-1]]])
        return np.diff(edges)[np.searchsorted(lines, np.round(v, 9))]

    w = width(p[0]) * width(p[1])
    return w / w.sum()


if __name__ == "__main__":
    for name in sys.argv[1:] or CASES:
        start = time.process_time()
        result = solve(CASES[name])
        (HERE / f"{name}.json").write_text(json.dumps(result, indent=None) + "\n", encoding="utf-8")
        print(name, result["unknowns"], "unknowns", round(time.process_time() - start, 1), "s", result["steady"])
