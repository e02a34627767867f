"""CPU time of axisymmetric finite elements at the ring model's own accuracy. Not part of the test run.

Needs scikit-fem, scipy and the project:  python tests/heat_reference/ring_speed.py
One disc joint on two planes: the same steps in time, ever finer meshes; the time of the coarsest mesh that is at
least as good as the ring model is set against the ring model's time for one joint of a batch.
"""

import json
import math
import time
from pathlib import Path

import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad1, FacetBasis, LinearForm, MeshQuad

HERE = Path(__file__).parent
OUNCE, T, CORE, OUTER = 34.8e-6, 1.6e-3, 4.9e-3, 34e-3
TIMES = (0.5, 1.0, 2.0, 4.0, 8.0)


def solved(rings, levels):
    """Return the joint's rise per watt [K/W] at the times, on a mesh of rings by levels."""
    r = np.concatenate(
        [CORE * np.linspace(0, 1, max(rings // 4, 2), endpoint=False), np.geomspace(CORE, OUTER, rings + 1)]
    )
    grade = 0.5 * (1 - np.cos(np.pi * np.linspace(0, 1, levels + 1)))
    z = np.concatenate([[0.0], OUNCE + (T - 2 * OUNCE) * grade, [T, T + 0.3e-3]])
    mesh = MeshQuad.init_tensor(r, z)
    cr, cz = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.restrict(np.nonzero((cz < T) | (cr < CORE))[0])
    cr, cz = mesh.p[:, mesh.t].mean(axis=1)
    copper = (cz < OUNCE) | ((cz > T - OUNCE) & (cz < T))
    metal = cz > T
    ka = np.where(metal, 4000.0, np.where(copper, 385.0, 0.90))
    kz = np.where(metal, 4000.0, np.where(copper, 385.0, 0.30))
    c = np.where(metal, 0.4 / (math.pi * CORE**2 * 0.3e-3), np.where(copper, 8933.0 * 385.0, 1850.0 * 1100.0))
    basis = Basis(mesh, ElementQuad1(), intorder=2)
    ka, kz, c = (np.broadcast_to(v[:, None], (len(v), basis.X.shape[1])) for v in (ka, kz, c))

    @BilinearForm
    def conduct(u, v, w):
        return 2 * math.pi * w.x[0] * (w.ka * u.grad[0] * v.grad[0] + w.kz * u.grad[1] * v.grad[1])

    @BilinearForm
    def store(u, v, w):
        return 2 * math.pi * w.x[0] * w.c * u * v

    @BilinearForm
    def lose(u, v, w):
        return 2 * math.pi * w.x[0] * 15.0 * u * v

    @LinearForm
    def watt(v, w):
        return 2 * w.x[0] / CORE**2 * v

    top = FacetBasis(mesh, ElementQuad1(), facets=mesh.facets_satisfying(lambda x: x[1] > T + 0.29e-3))
    flat = mesh.facets_satisfying(lambda x: (np.abs(x[1]) < 1e-9) | (np.abs(x[1] - T) < 1e-9), boundaries_only=True)
    stiff = conduct.assemble(basis, ka=ka, kz=kz) + lose.assemble(FacetBasis(mesh, ElementQuad1(), facets=flat))
    mass, load = store.assemble(basis, c=c).tocsc(), watt.assemble(top)
    return _march(stiff.tocsc(), mass, load)


def _march(stiff, mass, load):
    gamma, dt, now, u, found = 1 - math.sqrt(0.5), 0.5 / 32, 0.0, np.zeros(len(load)), []
    while len(found) < len(TIMES):
        factor = splu(mass + gamma * dt * stiff)
        for _ in range(4):
            k1 = factor.solve(load - stiff @ u)
            k2 = factor.solve(load - stiff @ (u + (1 - gamma) * dt * k1))
            u = u + dt * ((1 - gamma) * k1 + gamma * k2)
            now += dt
            if len(found) < len(TIMES) and abs(now - TIMES[len(found)]) < 1e-9:
                found.append(float(u @ load))
        if now >= 8 * dt - 1e-12 and len(found) < len(TIMES) and abs(now / (8 * dt) - round(now / (8 * dt))) < 1e-9:
            dt *= 2
    return np.array(found)


def ours():
    """Return the ring model's rise at the times and its CPU seconds for one joint of a batch of 1,000."""
    from reworkkit.compute.heat_demand.response import respond
    from reworkkit.compute.heat_demand.site import Sheet, Site

    plane = Sheet(OUNCE, OUTER)
    site = Site(False, CORE, CORE, CORE, OUTER, T, (plane, Sheet(), Sheet(), plane), 0.4, 0, 0, 0, 0)
    sites = tuple(site._replace(metal_j_per_k=0.4 + 1e-9 * n) for n in range(1000))
    respond(sites[:50])
    start = time.process_time()
    response = respond(sites)
    spent = (time.process_time() - start) / len(sites)
    growth = (1 - np.exp(-np.outer(TIMES, response.decay[0]))) / response.decay[0]
    return growth @ response.near[0] ** 2, spent


def main():
    finest = solved(96, 48)
    mine, spent = ours()
    error = float(np.abs(mine / finest - 1).max())
    rows = []
    for rings, levels in ((6, 2), (8, 3), (12, 4), (16, 6), (24, 8), (32, 12)):
        start = time.process_time()
        found = solved(rings, levels)
        rows.append((rings, levels, float(np.abs(found / finest - 1).max()), time.process_time() - start))
    equal = next((row for row in rows if row[2] <= error), rows[-1])
    result = {"ring_error": error, "ring_s": spent, "elements": rows, "ratio": equal[3] / spent}
    (HERE / "ring_speed.json").write_text(json.dumps(result) + "\n", encoding="utf-8")
    print(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
