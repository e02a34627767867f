"""Thirteen joints nobody had in mind when the heat model was made, as a reference. Not part of the test run.

Needs numpy and scipy:  python tests/heat_reference/unseen_reference.py [NAME ...]
Every joint is solved on two meshes, the second half as wide, and both results and their limit (first order) are
written to unseen.json: the rise of joint and hole end per kelvin of setting, and the setting needed with the heater's
power limit. Lengths in mm. The tip touches the whole land, or the narrow edge of a tab.
"""

# ruff: noqa: N803, N806, E741 - the letters of the formulas

import json
import sys
from pathlib import Path

import numpy as np

from tests.heat_reference.unseen_solver import (
    CCU,
    CF,
    CS,
    KCU,
    KF,
    KFZ,
    KS,
    Board,
    axis,
    held,
    limited,
    modes,
    port_reduced,
)

P = {
    "fillet": 1.0,
    "tip_cap": 0.35,
    "contact": 1.1e5,
    "face": 5e-6,
    "inner": 0.6,
    "hcap": 1.5,
    "power": 60.0,
    "kf": (KF, KFZ),
    "cf": CF,
    "h": 15.0,
}
Z16 = [0, 0.08, 0.2, 0.45, 0.8, 1.15, 1.4, 1.52, 1.6]


def zgrid(th, f=1):
    return np.array(Z16) * th / 1.6 if th != 1.6 else np.array(Z16)


def make(ext, core, th, h0, f=1, breaks=((), ()), z=None, hmax=3.0, cut=""):
    ext = (0.0 if "x" in cut else ext[0], ext[1], 0.0 if "y" in cut else ext[2], ext[3])
    core = (ext[0] if "x" in cut else core[0], core[1], ext[2] if "y" in cut else core[2], core[3])
    z = zgrid(th) if z is None else np.array(z)
    if f < 0.4:
        z = np.sort(np.concatenate([z, (z[1:] + z[:-1]) / 2]))
    x = axis(ext[0], ext[1], (core[0], core[1]), h0 * f, 1 + 0.3 * f, hmax * f, breaks[0])
    y = axis(ext[2], ext[3], (core[2], core[3]), h0 * f, 1 + 0.3 * f, hmax * f, breaks[1])
    B = Board(x, y, z, h=(P["h"], P["h"]), kf=P["kf"], cf=P["cf"])
    B.mm = z
    B.sym = 2 ** len(cut)
    return B


def rect(a, b, c, d):
    return lambda X, Y: (a <= X) & (b >= X) & (c <= Y) & (d >= Y)


def disc(cx, cy, r):
    return lambda X, Y: (X - cx) ** 2 + (Y - cy) ** 2 <= r * r


def lay(B, zmm):
    return int(np.argmin(abs(B.mm - zmm)))


def fin(B, fr, k, A, L, kk, cc, body_c, body_h=0.0, n=6, per=None, hh=15.0):
    """a lead of n pieces from a patch to a body node; A mm2, L mm"""
    A *= 1e-6
    l = L * 1e-3 / n
    per = per or 4 * np.sqrt(A)
    prev = None
    for _q in range(n):
        nd = B.node(A * l * cc, hh * per * l)
        if prev is None:
            B.tie(fr, k, nd, kk * A / (l / 2))
        else:
            B.link(prev, nd, kk * A / l)
        prev = nd
    body = B.node(body_c, body_h)
    B.link(prev, body, kk * A / (l / 2))
    return body


def done(B, contact, k, outs):
    B.out_sym = B.sym
    tip = B.node(P["tip_cap"])
    g = P["contact"] * min(P["face"], outs.pop("area", 1) * 1e-6 * 1.5 + 0.5e-6)
    B.tie(contact, k, tip, g)
    K, c = B.matrices()
    b = np.zeros(len(c))
    b[tip] = 1.0
    names, O = [], []
    for n, (fr, kk) in outs.items():
        names.append(n)
        O.append(B.weights(fr, kk))
    return K, c, b, np.array(O), names, g, B.sym


def solder_pad(B, k, fr, oz, ts=0.15):
    B.sheet(k, 0.0348 * oz, fr)
    B.sheet(k, ts, fr, KS, CS)


def chip_thin(f=1):  # 1206, 0.8 mm, 2 layers, tracks 0.4 mm
    B = make((-25, 25, -20, 20), (-2.6, 2.6, -1.0, 1.0), 0.8, 0.2, f)
    L = B.frac(rect(-2.3, -0.9, -0.9, 0.9))
    R = B.frac(rect(0.9, 2.3, -0.9, 0.9))
    for fr in (L, R):
        solder_pad(B, 0, fr, 1)
    B.sheet(0, 0.0348, B.frac(lambda X, Y: (abs(Y) <= 0.2) & (abs(X) > 2.3) & (abs(X) < 12)))
    # the chip: ceramic bar between the pads
    n = 6
    A = 1.55 * 0.55e-6
    l = 3.1e-3 / n
    prev = None
    C = 0.01 * 0.8 / n
    capL = B.frac(rect(-1.55, -0.9, -0.78, 0.78))
    capR = B.frac(rect(0.9, 1.55, -0.78, 0.78))
    for q in range(n):
        nd = B.node(C, 12 * 4e-3 * l)
        if q == 0:
            B.tie(capL, 0, nd, 24 * A / (l / 2) * 4)
        else:
            B.link(prev, nd, 24 * A / l)
        prev = nd
    B.tie(capR, 0, prev, 24 * A / (l / 2) * 4)
    return done(B, L, 0, {"near": (L, 0), "area": 1.4 * 1.8})


def sot_pour(f=1):  # SOT-23 pin 3 on a top pour 50 x 40, solid, 1 oz, 1.6 mm
    B = make((-25, 25, -20, 20), (-1, 1, -1, 1), 1.6, 0.2, f)
    pad = B.frac(rect(-0.4, 0.4, -0.5, 0.5))
    B.sheet(0, 0.0348, np.ones_like(B.A))
    B.sheet(0, 0.15, pad, KS, CS)
    fin(B, B.frac(rect(-0.2, 0.2, -0.5, 0)), 0, 0.4 * 0.95 * 0.2, 1.5, 350, 3.44e6, 0.009 * 0.8, 15 * 15e-6)
    return done(B, pad, 0, {"near": (pad, 0), "area": 0.8})


def soic_relief(f=1):  # SOIC-8 pin, top pour by 4 spokes 0.3 over a gap of 0.25
    B = make(
        (-25, 25, -20, 20),
        (-1.4, 1.4, -0.7, 0.7),
        1.6,
        0.15,
        f,
        ((-1.0, -0.75, -0.15, 0.15, 0.75, 1.0), (-0.55, -0.3, -0.15, 0.15, 0.3, 0.55)),
    )
    pad = B.frac(rect(-0.75, 0.75, -0.3, 0.3))
    ring = B.frac(rect(-1.0, 1.0, -0.55, 0.55))
    sp = B.frac(lambda X, Y: ((abs(Y) <= 0.15) & (abs(X) <= 1.0)) | ((abs(X) <= 0.15) & (abs(Y) <= 0.55)))
    B.sheet(0, 0.0348, np.clip(1 - ring + np.maximum(sp, pad), 0, 1))
    B.sheet(0, 0.15, pad, KS, CS)
    fin(B, B.frac(rect(-0.7, 0, -0.2, 0.2)), 0, 0.4 * 1.27 * 0.2, 1.5, 350, 3.44e6, 0.075 * 0.8, 15 * 60e-6)
    return done(B, pad, 0, {"near": (pad, 0), "area": 0.9})


def tab(B, k, tl, tw, tt, x0, mass, cu_mass, A=None):
    """a copper tab tl x tw from x0 to x0+tl over the pad, with its moulding on top"""
    fr = B.frac(rect(x0, x0 + tl, -tw / 2, tw / 2))
    B.sheet(k, tt, fr, 350.0)
    rest = max(mass * 0.8 - cu_mass * 0.385, 0.2 * mass * 0.8)
    a = tl * tw * 1e-6
    nd = B.node(rest, 12 * 2 * a)
    B.tie(fr, k, nd, 0.7 * a / 1e-3)
    return fr


def dpak_pour(f=1):  # TO-252 tab, pad 6.4 x 6.0, pour 30 x 30, 2 oz, 1.6, 2 layers, bare below
    B = make(
        (-15, 15, -15, 15),
        (-3.4, 3.4, -3.2, 3.2),
        1.6,
        0.35,
        f,
        ((-14.23, 2.1, 2.2, 14.23), (-14.23, -2.62, -1.2, 1.2, 2.62, 14.23)),
        cut="y",
    )
    B.frac(rect(-3.2, 3.2, -3, 3))
    B.sheet(0, 0.0696, B.frac(rect(-14.23, 14.23, -14.23, 14.23)))
    B.sheet(0, 0.15, B.frac(rect(-3.2, 2.2, -2.62, 2.62)), KS, CS)
    t = tab(B, 0, 5.4, 5.24, 0.5, -3.2, 0.33, 5.4 * 5.24 * 0.5 * 8.933e-3)
    return done(B, B.frac(rect(2.1, 2.2, -1.2, 1.2)), 0, {"near": (t, 0), "area": 99.0})


def vias(B, pts, d=0.3, layers=()):
    for x, y in pts:
        B.ring(x, y, d)


def d2pak_planes(f=1):  # TO-263 tab, top pour 40x30 solid + 12 vias to inner1; 4 layers 1 oz
    B = make(
        (-35, 35, -30, 30), (-5.6, 5.6, -5.5, 5.5), 1.6, 0.55, f, ((-5.4, 2.15, 2.05), (-5, 5, -1.2, 1.2)), cut="y"
    )
    B.sheet(0, 0.0348, np.ones_like(B.A))
    B.sheet(0, 0.15, B.frac(rect(-5.4, 2.15, -5, 5)), KS, CS)
    B.sheet(lay(B, 0.2), 0.0348, np.ones_like(B.A))
    vias(B, [(x - 1.6, y) for x in (-2.7, -0.9, 0.9, 2.7) for y in (-3, 0, 3)])
    t = tab(B, 0, 7.55, 10.0, 1.27, -5.4, 1.5, 10 * 7.55 * 1.27 * 8.933e-3)
    return done(B, B.frac(rect(2.05, 2.15, -1.2, 1.2)), 0, {"near": (t, 0), "area": 99.0})


def fmean(B, f, n=6):
    u = (np.arange(n) + 0.5) / n
    X = (B.x[:-1, None] + B.dx[:, None] * u).ravel() * 1e3
    Y = (B.y[:-1, None] + B.dy[:, None] * u).ravel() * 1e3
    return f(X[:, None], Y[None, :]).reshape(B.nx, n, B.ny, n).mean((1, 3))


def hole(B, cx, cy, drill, lead_d, pad_d, oz_out, klead=KCU, clead=CCU, cone=0.4, top=0, bot=-1):
    """plated hole filled with solder round a lead; pads on both faces, cone on the soldered face (top index 0)"""
    h = B.frac(disc(cx, cy, drill / 2))
    l = B.frac(disc(cx, cy, lead_d / 2))
    s = h - l
    k = np.where(h > 0, (l * klead + s * KS) / np.maximum(h, 1e-12), 0)
    c = np.where(h > 0, (l * clead + s * CS) / np.maximum(h, 1e-12), 0)
    B.column(h, k, c)
    B.ring(cx, cy, drill)
    pad = B.frac(disc(cx, cy, pad_d / 2))
    ann = pad - h
    for q in (0, B.nz - 1):
        B.sheet(q, 0.0348 * oz_out, ann)
    rl, rp = lead_d / 2, pad_d / 2
    hgt = P["fillet"] * fmean(
        B, lambda X, Y: np.clip((rp - np.hypot(X - cx, Y - cy)) / (rp - rl), 0, 1) * (np.hypot(X - cx, Y - cy) > rl)
    )
    B.kt[:, :, 0] += KS * hgt * 1e-3
    B.cap[:, :, 0] += CS * hgt * 1e-3 * B.A
    return h, l, pad


def layer_pattern(B, k, cx, cy, pad_d, oz, mode, pour=None, gap=0.25, sp=0.3, n=4):
    pour = np.ones_like(B.A) if pour is None else pour
    if mode == "solid":
        fr = pour - B.frac(disc(cx, cy, 0.01))
    else:
        ring = B.frac(disc(cx, cy, pad_d / 2 + gap))
        if mode == "antipad":
            fr = np.clip(pour - ring, 0, 1)
        else:
            spk = B.frac(
                lambda X, Y: (
                    (
                        ((abs(X - cx) <= sp / 2) | (abs(Y - cy) <= sp / 2))
                        & ((X - cx) ** 2 + (Y - cy) ** 2 <= (pad_d / 2 + gap) ** 2)
                    )
                    | ((X - cx) ** 2 + (Y - cy) ** 2 <= (pad_d / 2) ** 2)
                )
            )
            fr = np.clip(pour - ring + spk, 0, 1)
    return fr


def stub(B, l, A):
    n = B.node(A * 1.5e-9 * 3.44e6)
    B.tie(l, 0, n, 350 * A * 1e-6 / 0.75e-3)


def to220(mode, f=1, bolted=False, ext=(-30, 30, -25, 25)):
    B = make(ext, (-1.4, 1.4, -1.4, 1.4), 1.6, 0.14, f, ((-0.15, 0.15), (-0.15, 0.15)), cut="xy")
    h, l, pad = hole(B, 0, 0, 1.1, 0.844, 2.0, 1, 350.0, 3.44e6)  # lead 0.56 mm2
    for zz in (0.2, 1.4):
        k = lay(B, zz)
        B.sheet(k, 0.0348, np.clip(layer_pattern(B, k, 0, 0, 2.0, 1, mode) - h, 0, 1))
    body = fin(B, l, B.nz - 1, 0.56, 4.0, 350, 3.44e6, 1.9 * 0.8, 15 * 5e-4)
    stub(B, l, 0.56)
    if bolted:
        hs = B.node(60.0, 0.5)
        B.link(body, hs, 1.0)
    return done(B, pad, 0, {"near": (h, 0), "far": (h, lay(B, 0.875 * B.mm[-1])), "area": 99.0})


def to220_solid(f=1):
    return to220("solid", f)


def to220_relief(f=1):
    return to220("relief", f)


def to220_bolted(f=1):
    return to220("relief", f, True)


def terminal(f=1):  # lead 1.0 mm dia (0.8 mm2) brass, drill 1.3, pad 2.6, board 2.4 mm; plane on the PART side, solid
    B = make((-30, 30, -25, 25), (-1.8, 1.8, -1.8, 1.8), 2.4, 0.16, f, cut="xy")
    h, l, pad = hole(B, 0, 0, 1.3, 1.009, 2.6, 1, 110.0, 3.2e6)
    B.sheet(B.nz - 1, 0.0348, np.clip(1 - B.frac(disc(0, 0, 1.3)), 0, 1))
    fin(B, l, B.nz - 1, 0.8, 4.0, 110, 3.2e6, 2.6 * 0.8, 15 * 3e-4)
    stub(B, l, 0.8)
    return done(B, pad, 0, {"near": (h, 0), "far": (h, lay(B, 0.875 * B.mm[-1])), "area": 99.0})


def elco_edge(
    f=1, edge=-2
):  # radial D10, lead 0.6 mm (0.28 mm2), drill 0.9, pad 1.8, 2 mm from the edge; 2 layers, both ground, relief
    B = make((edge, 50, -30, 30), (-1.5, 1.5, -1.5, 1.5), 1.6, 0.14, f, ((-0.15, 0.15), (-0.15, 0.15)), cut="y")
    h, l, pad = hole(B, 0, 0, 0.9, 0.6, 1.8, 1, 60.0, 3.5e6)
    for k in (0, B.nz - 1):
        B.sheet(k, 0.0348, np.clip(layer_pattern(B, k, 0, 0, 1.8, 1, "relief") - pad, 0, 1))
    fin(B, l, B.nz - 1, 0.283, 4.0, 60, 3.5e6, 1.9 * 0.8, 15 * 3e-4)
    stub(B, l, 0.283)
    return done(B, pad, 0, {"near": (h, 0), "far": (h, lay(B, 0.875 * B.mm[-1])), "area": 2.545})


def sensor_row(
    f=1,
):  # four legs 2.54 apart, lead 0.5 mm2; pin 4 solid on inner1 and bottom, the others pass by antipads
    B = make((-33, 27, -25, 25), (-9.0, 1.4, -1.4, 1.4), 1.6, 0.16, f, cut="y")
    hs = [hole(B, -2.54 * q, 0, 1.0, 0.798, 1.8, 1, 350.0, 3.4e6) for q in range(4)]
    for _zz in (0.2, 1.6):  # soldered face at z = 0 is the bottom: ground there and on the far inner; turned below
        pass
    # z=0 is the soldered (bottom) face: plane at z=0 and inner1 lies 0.2 under the part side -> z=1.4
    holes = sum(q[0] for q in hs)
    pads = sum(q[2] for q in hs)
    for k in (0, lay(B, 1.4)):
        fr = np.ones_like(B.A)
        for q in (1, 2, 3):
            fr = np.minimum(fr, 1 - B.frac(disc(-2.54 * q, 0, 1.2)))
        sub = pads if k == 0 else holes
        B.sheet(k, 0.0348, np.clip(fr - sub, 0, 1))
    body = B.node(2.2 * 0.8, 15 * 4e-4)
    stub(B, hs[0][1], 0.5)
    for q in hs:
        n = 6
        A = 0.5e-6
        l = 4e-3 / n
        prev = None
        for _j in range(n):
            nd = B.node(A * l * 3.4e6, 12 * 3e-3 * l)
            if prev is None:
                B.tie(q[1], B.nz - 1, nd, 350 * A / (l / 2))
            else:
                B.link(prev, nd, 350 * A / l)
            prev = nd
        B.link(prev, body, 350 * A / (l / 2))
    return done(B, hs[0][2], 0, {"near": (hs[0][0], 0), "far": (hs[0][0], lay(B, 1.4)), "area": 2.545})


def corner_3oz(
    f=1,
):  # 2512 pad 1.9 x 3.4 in a corner, middle 3 mm from both edges; top pour 3 oz solid over the whole 2-layer board
    B = make((-3, 47, -3, 37), (-1.2, 1.2, -1.9, 1.9), 1.6, 0.25, f)
    pad = B.frac(rect(-0.95, 0.95, -1.7, 1.7))
    B.sheet(0, 0.1044, np.ones_like(B.A))
    B.sheet(0, 0.15, pad, KS, CS)
    fin(B, B.frac(rect(0.2, 0.95, -1.6, 1.6)), 0, 3.2 * 0.55, 6.35, 24, 0.042 * 0.8 / (3.2 * 0.55 * 6.35e-9), 1e-6, 0.0)
    return done(B, B.frac(rect(-0.95, 0.55, -1.7, 1.7)), 0, {"near": (pad, 0), "area": 6.46})


def qfn_hidden(f=1):  # 5 x 5 QFN, pad 3.4 x 3.4, 9 vias to inner1 and bottom planes; 4 layers; ring of pins left out
    B = make((-30, 30, -25, 25), (-2.6, 2.6, -2.6, 2.6), 1.6, 0.3, f)
    pad = B.frac(rect(-1.7, 1.7, -1.7, 1.7))
    B.sheet(0, 0.0348, pad)
    B.sheet(0, 0.15, pad, KS, CS)
    B.sheet(lay(B, 0.2), 0.0348, np.ones_like(B.A))
    B.sheet(B.nz - 1, 0.0348, np.ones_like(B.A))
    vias(B, [(x, y) for x in (-1.1, 0, 1.1) for y in (-1.1, 0, 1.1)])
    paddle = B.frac(rect(-1.7, 1.7, -1.7, 1.7))
    B.sheet(0, 0.2, paddle, 350.0)
    nd = B.node(0.065 * 0.8, 0.0)
    B.tie(paddle, 0, nd, 0.8 * 11.6e-6 / 0.4e-3)
    return done(B, pad, 0, {"near": (pad, 0), "area": 11.6})


JOINTS = {
    "chip_thin": chip_thin,
    "sot_pour": sot_pour,
    "soic_relief": soic_relief,
    "dpak_pour": dpak_pour,
    "d2pak_planes": d2pak_planes,
    "to220_solid": to220_solid,
    "to220_relief": to220_relief,
    "terminal": terminal,
    "elco_edge": elco_edge,
    "sensor_row": sensor_row,
    "corner_3oz": corner_3oz,
    "qfn_hidden": qfn_hidden,
    "to220_bolted": to220_bolted,
}

DWELL = {"chip_thin": 3, "sot_pour": 3, "soic_relief": 3, "corner_3oz": 3}
TIMES = [0.5, 1.0, 3.0, 8.0, 20.0]
WANTED = {"near": 220.0 + 40.0 - 25.0, "far": 220.0 - 25.0}


def solve(name, f):
    K, c, p, O, names, g, sym = JOINTS[name](f)
    m = modes(port_reduced(K, c, p, O))
    dwell = DWELL.get(name, 8)
    H = held(m, P["tip_cap"] / sym, P["inner"] / sym, TIMES)
    lo, hi = 50.0, 3000.0
    for _ in range(25):
        mid = (lo + hi) / 2
        o = limited(m, P["tip_cap"] / sym, P["inner"] / sym, P["hcap"] / sym, P["power"] / sym, mid, [dwell], dt=4e-3)[
            0
        ]
        enough = all(o[q] >= WANTED[a] for q, a in enumerate(names))
        lo, hi = (lo, mid) if enough else (mid, hi)
    return {
        "unknowns": len(c),
        "contact_w_per_k": round(float(g), 5),
        "dwell_s": dwell,
        "times_s": TIMES,
        "ends": names,
        "held": H.round(5).tolist(),
        "needed_c": round(hi + 25, 2),
    }


def limit(coarse, fine):
    both = dict(fine)
    both["held"] = [
        [round(2 * y - x, 5) for x, y in zip(r, q, strict=False)]
        for r, q in zip(coarse["held"], fine["held"], strict=False)
    ]
    both["needed_c"] = round(2 * fine["needed_c"] - coarse["needed_c"], 2)
    return both


if __name__ == "__main__":
    stored = Path(__file__).parent / "unseen.json"
    found = json.loads(stored.read_text(encoding="utf-8")) if stored.exists() else {}
    for name in sys.argv[1:] or JOINTS:
        coarse, fine = solve(name, 1.0), solve(name, 0.5)
        found[name] = {"coarse": coarse, "fine": fine, "limit": limit(coarse, fine)}
        print(name, found[name]["limit"])
        stored.write_text(json.dumps(found) + "\n", encoding="utf-8")
