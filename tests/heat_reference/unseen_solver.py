"""Finite volumes of a board in three dimensions: cells along the board, nodes through it at the copper sheets.

Used by unseen_reference.py only; needs scipy. The network is reduced by projection on its solutions at twelve rates
(port and outputs), then an iron is put on it, free or at its power limit. Checked by hand against closed forms:
surface of a half space under constant flux (0.1 %), fin (0.8 %, half a cell), disc on a half space (1.2 %, 0.6 % on
half the mesh: of first order, so two meshes give the limit), step-by-step integration in time (1e-4).
"""

# ruff: noqa: N803, N806, E741 - the letters of the formulas

import itertools

import numpy as np
import scipy.linalg as la
import scipy.sparse as sp
import scipy.sparse.linalg as sl

KCU, CCU = 385.0, 8933 * 385.0
KF, KFZ, CF = 0.9, 0.3, 1850 * 1100.0
KS, CS = 58.0, 7380 * (220 + 61000 / 235.0)


def axis(lo, hi, core, h0, growth=1.3, hmax=3.0, breaks=()):
    """graded 1-D grid (mm): size h0 in core, growing outside; break points hit"""
    pts = sorted({lo, hi, *[b for b in breaks if lo < b < hi], *[c for c in core if lo < c < hi]})
    out = [lo]

    def size(x):
        d = max(core[0] - x, x - core[1], 0.0)
        return min(h0 + d * (growth - 1), hmax)

    for a, b in itertools.pairwise(pts):
        x = a
        cuts = []
        while True:
            s = size(x + 0.5 * size(x))
            if x + s >= b - 1e-9:
                break
            x += s
            cuts.append(x)
        len(cuts) + 1
        # scale to fit
        c = np.array([a, *cuts, cuts[-1] + s if cuts else a + (b - a)])
        c = a + (c - a) * (b - a) / (c[-1] - a)
        out += list(c[1:])
    return np.array(out)


class Board:
    def __init__(self, x, y, z, h=(15.0, 15.0), kf=(KF, KFZ), cf=CF):
        self.x, self.y, self.z = x * 1e-3, y * 1e-3, np.array(z) * 1e-3  # z: node planes, top=0
        self.nx, self.ny, self.nz = len(x) - 1, len(y) - 1, len(z)
        self.dx, self.dy = np.diff(self.x), np.diff(self.y)
        self.xc, self.yc = (self.x[1:] + self.x[:-1]) / 2, (self.y[1:] + self.y[:-1]) / 2
        self.A = np.outer(self.dx, self.dy)
        dz = np.diff(self.z)
        self.dz = dz
        self.tz = np.zeros(self.nz)
        self.tz[:-1] += dz / 2
        self.tz[1:] += dz / 2
        self.kt = np.ones((self.nx, self.ny, self.nz)) * (kf[0] * self.tz)  # sheet conductance of each node plane
        self.cap = self.A[:, :, None] * np.ones(self.nz) * (cf * self.tz)
        self.gz = np.repeat((self.A * kf[1])[:, :, None], self.nz - 1, 2) / dz
        self.h = h
        self.extra = []
        self.nextra = 0
        self.kfz = kf[1]
        self.kfx = kf[0]
        self.cf = cf
        self.sym = 1

    def frac(self, f, n=6):
        """fraction of each cell where f(x_mm,y_mm) holds"""
        u = (np.arange(n) + 0.5) / n
        X = (self.x[:-1, None] + self.dx[:, None] * u).ravel() * 1e3
        Y = (self.y[:-1, None] + self.dy[:, None] * u).ravel() * 1e3
        m = f(X[:, None], Y[None, :]).astype(float)
        return m.reshape(self.nx, n, self.ny, n).mean((1, 3))

    def sheet(self, k, t_mm, fr, kk=KCU, cc=CCU):
        self.kt[:, :, k] += kk * t_mm * 1e-3 * fr
        self.cap[:, :, k] += cc * t_mm * 1e-3 * fr * self.A

    def column(self, fr, k, c):
        """a column through the whole board (lead, solder) replacing laminate, fr of each cell"""
        self.gz += ((k - self.kfz) * fr * self.A)[:, :, None] / self.dz
        self.kt += (fr * (k - self.kfx))[:, :, None] * self.tz
        self.cap += (fr * self.A * (c - self.cf))[:, :, None] * self.tz

    def ring(self, cx, cy, d, t=0.025, k=KCU, c=CCU, inplane=True):
        """plated barrel: exact area spread over cells"""
        th = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
        r = (d + t) / 2
        i = np.searchsorted(self.x, (cx + r * np.cos(th)) * 1e-3) - 1
        j = np.searchsorted(self.y, (cy + r * np.sin(th)) * 1e-3) - 1
        ok = (i >= 0) & (j >= 0) & (i < self.nx) & (j < self.ny)
        i, j = i[ok], j[ok]
        a = np.zeros_like(self.A)
        np.add.at(a, (i, j), np.pi * (d + t) * t * 1e-6 / 2000)
        self.gz += (a * k)[:, :, None] / self.dz
        self.cap += (a * c)[:, :, None] * self.tz
        if inplane:
            self.kt += (a / self.A * k * 0.5)[:, :, None] * self.tz

    def node(self, cap, h_w=0.0):
        self.extra.append([cap / self.sym, h_w / self.sym])
        self.nextra += 1
        return self.nx * self.ny * self.nz + self.nextra - 1

    links = None

    def link(self, a, b, g):
        self.links = self.links or []
        self.links.append((a, b, g / self.sym))

    def idx(self, i, j, k):
        return (i * self.ny + j) * self.nz + k

    def weights(self, fr, k):
        w = fr * self.A
        v = np.zeros(self.N())
        I, J = np.nonzero(w)
        v[self.idx(I, J, k)] = w[I, J] / w.sum()
        return v

    def N(self):
        return self.nx * self.ny * self.nz + self.nextra

    def tie(self, fr, k, node, g):
        """link an extra node to a patch, conductance g shared by area"""
        w = fr * self.A
        w = w / w.sum()
        for i, j in zip(*np.nonzero(w), strict=False):
            self.link(self.idx(i, j, k), node, g * w[i, j])

    def matrices(self):
        N = self.N()
        I = np.arange(self.nx * self.ny * self.nz).reshape(self.nx, self.ny, self.nz)
        r, c, g = [], [], []
        hx = self.dx[:, None, None] / 2 / self.kt
        gx = self.dy[None, :, None] / (hx[:-1] + hx[1:])
        hy = self.dy[None, :, None] / 2 / self.kt
        gy = self.dx[:, None, None] / (hy[:, :-1] + hy[:, 1:])
        for a, b, v in ((I[:-1], I[1:], gx), (I[:, :-1], I[:, 1:], gy), (I[:, :, :-1], I[:, :, 1:], self.gz)):
            r.append(a.ravel())
            c.append(b.ravel())
            g.append(np.broadcast_to(v, a.shape).ravel())
        if self.links:
            L = np.array(self.links)
            r.append(L[:, 0].astype(int))
            c.append(L[:, 1].astype(int))
            g.append(L[:, 2])
        r, c, g = map(np.concatenate, (r, c, g))
        K = sp.coo_matrix((-g, (r, c)), (N, N))
        K = K + K.T
        d = np.zeros(N)
        np.add.at(d, r, g)
        np.add.at(d, c, g)
        d[I[:, :, 0].ravel()] += self.h[0] * self.A.ravel()
        d[I[:, :, -1].ravel()] += self.h[1] * self.A.ravel()
        cap = np.zeros(N)
        cap[: self.nx * self.ny * self.nz] = self.cap.ravel()
        for n, (cc, hh) in enumerate(self.extra):
            cap[I.size + n] = cc
            d[I.size + n] += hh
        return (K + sp.diags(d)).tocsc(), cap


def port_reduced(K, cap, port, outs, shifts=None):
    """one LU a shift, solved for the port and for every output (dual vectors)"""
    shifts = np.geomspace(0.015, 4000, 12) if shifts is None else shifts
    V = []
    for rate in shifts:
        lu = sl.splu(
            (K + sp.diags(cap * rate)).tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            options={"SymmetricMode": True},
            diag_pivot_thresh=0.0,
        )
        for b in [port, *outs]:
            V.append(lu.solve(b))
    V.append(port)
    V = np.array(V).T
    w = np.sqrt(np.maximum(cap, 1e-12))
    U = V * w[:, None]
    Q, R, _ = la.qr(U / np.linalg.norm(U, axis=0), mode="economic", pivoting=True)
    keep = np.abs(np.diag(R)) > 1e-10
    V = Q[:, keep] / w[:, None]
    return V.T @ (K @ V), (V.T * cap) @ V, V.T @ port, outs @ V


def modes(red):
    Kr, Cr, p, O = red
    l, P = la.eigh(Kr, Cr)
    return l, P.T @ p, O @ P  # x=P y ; y'=-l y + (P^T p) u


def held(m, tip_cap, inner, times):
    """Gain per kelvin of setting: heater at 1 behind `inner`, the tip end (tip_cap, in the network) starts at 1."""
    l, b, O = m
    A = np.diag(-l) - inner * np.outer(b, b)
    y0 = tip_cap * b
    f = inner * b
    w, S = la.eigh(A)
    c0 = S.T @ y0
    cf = S.T @ f
    return np.array([O @ (S @ (np.exp(w * t) * c0 + cf * np.expm1(w * t) / w)) for t in times])


def limited(m, tip_cap, inner, hcap, power, rise, times, dt=2e-3):
    """step through time with a heater of limited power; returns outputs at times for a setting `rise`"""
    l, b, O = m
    n = len(l)
    H = np.zeros((n + 1, n + 1))
    H[:n, :n] = np.diag(-l) - inner * np.outer(b, b)
    H[:n, n] = inner * b
    H[n, :n] = inner * b / hcap
    H[n, n] = -inner / hcap
    E_lim = la.expm(np.block([[H * dt, np.r_[np.zeros(n), power / hcap][:, None] * dt], [np.zeros((1, n + 2))]]))
    Hh = H.copy()
    Hh[n] = 0
    E_held = la.expm(Hh * dt)
    x = np.r_[tip_cap * b * rise, rise]
    out = []
    t = 0.0
    times = list(times)

    def need(x):
        return inner * (x[n] - b @ x[:n])

    while times:
        if x[n] >= rise - 1e-9 and need(x) <= power:
            x[n] = rise
            x = E_held @ x
        else:
            x = (E_lim @ np.r_[x, 1.0])[:-1]
            if x[n] > rise:
                x[n] = rise
        t += dt
        if t >= times[0] - 1e-9:
            out.append(O @ x[:n])
            times.pop(0)
    return np.array(out)
