"""Joints to finite volumes: rings by nodes through the board, many joints at once (last axis)."""

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.formulas.conduction import circle_area_inside, circle_inside, radius_for_area
from reworkkit.compute.heat_demand.site import COPPER_J_PER_M3_K, Site, outer_radius

Floats = NDArray[np.float64]
LEVELS = (0.0, 0.125, 0.45, 0.875, 1.0)
"""Nodes through the thickness, in parts of it; copper sheets sit on the first, second, fourth and last."""
INNER = (0.5, 0.8)
"""Rings under a pad, in parts of its radius: the metal on top is at one temperature, the laminate below is not."""
INSIDE = len(INNER) + 1
TIGHT = 2e-3
"""Resistance [K/W] that ties the nodes of one piece of metal together."""
SAMPLES = 2
EDGE_FELT = 0.7
"""Heat that must turn at an edge feels it nearer than it is: by the mirror image of a point source, whose rise over the
circle's part on the board this share reproduces within 0.07 of a logarithmic unit from 2 to 10 edge distances.
Preferred to 0.8 after both were run on the three-dimensional edge and corner joints: a fitted figure."""
FILLET_W_PER_K = 55.0 * 0.25e-3
"""Conductivity times mean height of the solder on the land of a hole, on the side of the iron; the height is the one
that fitted the three-dimensional hole joints best."""


class Mesh(NamedTuple):
    """How fine: rings outside the joint, and how many parts each step through the board is cut into."""

    rings: int = 20
    cuts: int = 1


class Grid(NamedTuple):
    """Finite volumes of B joints. Axes: column (innermost first), level, joint.

    `capacity` [J/K], `shared` [J/K] between neighbouring levels (linear elements),
    `loss` [W/K] to the surroundings, `along` [W/K] to the next inner column (0 for the first),
    `through` [W/K] to the next level; `leaf_*` the part, which hangs on level `leaf_level` of the first column.
    """

    capacity: Floats
    shared: Floats
    loss: Floats
    along: Floats
    through: Floats
    leaf_capacity: Floats
    leaf_conductance: Floats
    leaf_loss: Floats
    leaf_last: NDArray[np.bool_]
    faces: Floats

    @property
    def far_level(self) -> int:
        """Level at seven eighths of the depth (the hole is filled there, or not)."""
        levels: int = self.capacity.shape[1]
        return levels - 1 - (levels - 1) // 4


def _levels(cuts: int) -> tuple[Floats, list[int]]:
    steps = [np.linspace(a, b, cuts, endpoint=False) for a, b in pairwise(LEVELS)]
    return np.append(np.concatenate(steps), 1.0), [0, cuts, 3 * cuts, 4 * cuts]


def _column(sites: tuple[Site, ...], name: str) -> Floats:
    return np.array([getattr(s, name) for s in sites], dtype=float)


def _sheets(sites: tuple[Site, ...], name: str) -> Floats:
    return np.array([[getattr(sheet, name) for sheet in s.sheets] for s in sites], dtype=float).T


def _faces(sites: tuple[Site, ...], outer: Floats, ends: Floats, rings: int) -> Floats:
    """Radii of the ring faces: 0, two inside the pad, pad, land, start of the planes, then evenly spread logarithms.

    The end of the smallest plane falls on a face, so that no ring is half copper.
    """
    core, land, plane = (_column(sites, n) for n in ("core_m", "land_m", "plane_m"))
    land = np.maximum(land, 1.02 * core)
    plane = np.maximum(plane, 1.02 * land)
    outer = np.maximum(outer, 1.1 * plane)
    spread = _spread(plane, np.where(ends > 1.3 * plane, ends, np.inf).min(axis=0), outer, rings - 2)
    return np.concatenate(
        [
            np.zeros((1, len(sites))),
            *(core[None] * part for part in INNER),
            core[None],
            land[None],
            plane[None] * (outer / plane)[None] ** spread,
        ]
    )


def _spread(start: Floats, end: Floats, outer: Floats, parts: int) -> Floats:
    """Return where the faces lie between start (0) and outer (1) in logarithms, one of them on `end`."""
    place = np.log(end / start) / np.log(outer / start)
    place = np.where(place < 0.97, place, 0.5)
    before = np.clip(np.rint(place * parts), 1, parts - 1)
    index = np.arange(parts + 1)[:, None]
    after = place + (1 - place) * (index - before) / (parts - before)
    return np.asarray(np.where(index <= before, place * index / before, after))


def build(sites: tuple[Site, ...], mesh: Mesh = Mesh()) -> Grid:  # noqa: B008 - a NamedTuple of two numbers
    """Return the finite volumes of the sites."""
    edges = _column(sites, "edge_m"), _column(sites, "second_edge_m")
    outer = radius_for_area(math.pi * np.array([outer_radius(s) for s in sites]) ** 2, *edges)
    reach = radius_for_area(math.pi * np.maximum(_sheets(sites, "radius_m"), 1e-6) ** 2, *edges)
    faces = _faces(sites, outer, reach, mesh.rings)
    levels, on = _levels(mesh.cuts)
    return _Builder(sites, faces, levels, on, edges, reach).grid()


class _Builder:
    """Holds what the parts of one grid share while it is put together."""

    def __init__(
        self,
        sites: tuple[Site, ...],
        faces: Floats,
        levels: Floats,
        on: list[int],
        edges: tuple[Floats, Floats],
        reach: Floats,
    ) -> None:
        self.sites, self.faces, self.levels, self.on, self.edges, self.reach = sites, faces, levels, on, edges, reach
        self.hole = np.array([s.hole for s in sites])
        self.thickness = _column(sites, "thickness_m")
        self.copper = _sheets(sites, "thickness_m")
        self.gap, self.tracks = _sheets(sites, "gap_k_per_w"), _sheets(sites, "trace_m")
        area = circle_area_inside(np.maximum(faces, 1e-12), edges[0], edges[1])
        area[: INSIDE + 1] = math.pi * faces[: INSIDE + 1] ** 2
        self.area = np.maximum(np.diff(area, axis=0), 1e-12)
        width = np.diff(levels)
        self.share = np.concatenate(([width[0] / 2], (width[:-1] + width[1:]) / 2, [width[-1] / 2]))

    def column(self, name: str) -> Floats:
        """Return one figure of all sites."""
        return _column(self.sites, name)

    def grid(self) -> Grid:
        """Put the finite volumes together."""
        heat, through, loss = self._laminate()
        self._core(heat, through)
        capacity, shared = self._levelled(heat)
        self._metal(capacity)
        return Grid(
            capacity,
            shared,
            loss,
            self._along(),
            through,
            self.column("leaf_j_per_k") + 1e-9,
            self.column("leaf_w_per_k") + 1e-9,
            self.column("leaf_loss_w_per_k"),
            self.hole,
            self.faces,
        )

    def _laminate(self) -> tuple[Floats, Floats, Floats]:
        """Heat capacity of every ring over the whole thickness, conductance between levels, loss; a hole holds none."""
        solid = np.ones_like(self.area)
        solid[:INSIDE] = np.where(self.hole, 0.0, 1.0)
        heat = solid * self.area * self.thickness * self.column("laminate_j_per_m3_k")
        through = (solid * self.area * self.column("laminate_through"))[:, None] / self._steps()
        loss = np.zeros((len(heat), len(self.levels), len(self.sites)))
        loss[:, 0] = loss[:, -1] = self.area * self.column("film_w_per_m2_k")
        return heat, through, loss

    def _core(self, heat: Floats, through: Floats) -> None:
        """Add the barrel, or the vias under a pad, and the pins of a row smeared over the ring they stand in."""
        part = np.zeros_like(self.area)
        part[:INSIDE] = self.area[:INSIDE] / self.area[:INSIDE].sum(axis=0)
        part += self._row()
        heat += part * self.column("axial_j_per_m_k") * self.thickness
        through += part[:, None] * self.column("axial_w_m_per_k") / self._steps()

    def _row(self) -> Floats:
        here = (self.faces[:-1] <= self.column("row_m")) & (self.column("row_m") < self.faces[1:])
        return np.where(here, self.column("row_count"), 0.0)

    def _levelled(self, heat: Floats) -> tuple[Floats, Floats]:
        """Share the heat capacity of columns out to levels and to what neighbouring levels hold together."""
        capacity = self.share[:, None] * heat[:, None] + 1e-9
        shared = np.diff(self.levels)[:, None] * heat[:, None] / 6.0
        capacity[:, :-1] -= shared
        capacity[:, 1:] -= shared
        return capacity, shared

    def _metal(self, capacity: Floats) -> None:
        """Add copper sheets, and the metal under the tip of the joint and of its row."""
        solid = np.ones_like(self.area)
        solid[:INSIDE] = np.where(self.hole, 0.0, 1.0)
        for layer, level in enumerate(self.on):
            cover = self._cover(layer, self.faces[:-1], self.faces[1:])
            capacity[:, level] += solid * self.area * cover * self.copper[layer] * COPPER_J_PER_M3_K
        capacity[0, 0] += self.column("metal_j_per_k")
        capacity[:, 0] += self._row() * self.column("metal_j_per_k")

    def _steps(self) -> Floats:
        return np.asarray(np.diff(self.levels)[None, :, None] * self.thickness)

    def _cover(self, layer: int, start: Floats, end: Floats) -> Floats:
        """Copper of one layer in pieces of rings as part of a full sheet: land, bridge, plane or tracks."""
        land, plane = self.faces[INSIDE + 1], self.faces[INSIDE + 2]
        middle = (start + end) / 2
        inside = np.clip((self.reach[layer] - start) / (end - start), 0.0, 1.0)
        wide = np.where(inside > 0, inside, np.minimum(self.tracks[layer] / (2.0 * math.pi * middle), 1.0))
        bare = np.maximum(self.copper[layer] * self.column("copper"), 1e-12)
        bridge = np.log(plane / land) / (2.0 * math.pi * np.maximum(self.gap[layer], 1e-6)) / bare
        gap = np.where(self.gap[layer] > 0, np.minimum(bridge, 1.0), wide)
        joined = (layer in (0, 3)) | np.isfinite(self.gap[layer])
        own = np.where(middle < land, np.where(joined, 1.0, 0.0), np.where(middle < plane, gap, wide))
        return np.asarray(own if layer == 0 else np.where(self.hole, own, wide))

    def _along(self) -> Floats:
        """Conductances between neighbouring columns: outer half of one ring and inner half of the next in series."""
        inner = (self.faces[:INSIDE] + self.faces[1 : INSIDE + 1]) / 2
        outer = np.sqrt(self.faces[INSIDE:-1] * self.faces[INSIDE + 1 :])
        nodes = np.concatenate([inner, outer])
        points = np.empty((2 * len(nodes) - 1, len(self.sites)))
        points[0::2], points[1::2] = nodes, self.faces[1:-1]
        halves = self._resistance(points[:-1], points[1:])
        within = 2 * INSIDE - 1
        on_land = slice(within, within + 2)
        fillet = 2.0 * math.pi * FILLET_W_PER_K / np.log(points[1:][on_land] / points[:-1][on_land])
        halves[on_land, 0] = np.where(self.hole, 1.0 / (1.0 / halves[on_land, 0] + fillet), halves[on_land, 0])
        halves[:within, 0] = TIGHT
        halves[:within] = np.where(self.hole, TIGHT, halves[:within])
        links = np.zeros((len(nodes), *halves.shape[1:]))
        links[1:] = 1.0 / (halves[0::2] + halves[1::2])
        return links

    def _resistance(self, start: Floats, end: Floats) -> Floats:
        """Resistance [K/W] along the board of pieces of rings, summed over samples; axes: piece, level, joint."""
        total = np.zeros((len(start), len(self.levels), len(self.sites)))
        laminate = self.share[:, None] * (self.thickness * self.column("laminate_along"))
        ratio = (end / start) ** (1.0 / SAMPLES)
        for _ in range(SAMPLES):
            end = start * ratio
            board = circle_inside(np.sqrt(start * end), *(EDGE_FELT * edge for edge in self.edges))
            sheet = board[:, None] * laminate
            for layer, level in enumerate(self.on):
                sheet[:, level] += board * self._cover(layer, start, end) * self.copper[layer] * self.column("copper")
            total += np.log(ratio)[:, None] / (2.0 * math.pi * np.maximum(sheet, 1e-9))
            start = end
        return total
