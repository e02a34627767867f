"""The ring model against closed forms, against the same network solved densely, and against itself refined."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import i0, i1, k0, k1

from reworkkit.compute.formulas.conduction import circle_inside, contour
from reworkkit.compute.heat_demand.grid import EDGE_FELT, Mesh, build
from reworkkit.compute.heat_demand.iron import Iron, energy_to_hold, gains, warmth
from reworkkit.compute.heat_demand.response import respond
from reworkkit.compute.heat_demand.site import Sheet, Site, outer_radius, varied
from tests.compute.heat_cases import CASES, case
from tests.compute.heat_dense import matrices, step_response

BARE = (Sheet(), Sheet(), Sheet(), Sheet())
SOLID = Site(False, 5e-3, 5e-3, 5e-3, 0.05, 1.6e-3, BARE, 0.0, 0.0, 0.0, 0.0, 0.0)

# Carslaw & Jaeger 13.5, heat flow from a cylinder at constant temperature, as printed by an independent program.
CYLINDER = (
    "6.1294769 5.3857646 4.7393840 4.1774869 3.6889118 3.2639621 2.8942139 2.5723500 2.2920144 2.0476874 1.8345765 "
    "1.6485217 1.4859135 1.3436215 1.2189325 1.1094960 1.0132774 0.9285167 0.8536926 0.7874910 0.7287775 0.6765734 "
    "0.6300346 0.5884333 0.5511417 0.5176189 0.4873976 0.4600750 0.4353025 0.4127790 0.3922435 0.3734696 0.3562606 "
    "0.3404454 0.3258747 0.3124180 0.2999611 0.2884037 0.2776576 0.2676451 0.2582973 0.2495534 0.2413593 0.2336671 "
    "0.2264336 0.2196206 0.2131937 0.2071221 0.2013779 0.1959361"
)


def rises(site: Site, times, mesh: Mesh = Mesh()):  # noqa: B008
    response = respond((site,), mesh)
    growth = (1 - np.exp(-np.outer(times, response.decay[0]))) / response.decay[0]
    return growth @ response.near[0] ** 2, growth @ (response.near[0] * response.far[0])


def flow_at(site: Site, time: float, mesh: Mesh) -> float:
    """Return the heat flow [W] into a joint held one kelvin up."""
    rates, weights = contour(time)
    near, _ = respond((site,), mesh).at(rates)
    return float(((1 / (rates * near[0])) @ weights).real)


def plate(hole: float, outer: float, thickness: float, conductivity: float, heat: float, film: float) -> Site:
    """A plate round a hole that is one body without heat capacity."""
    return SOLID._replace(
        hole=True,
        core_m=hole,
        land_m=hole,
        plane_m=hole,
        board_m=outer,
        thickness_m=thickness,
        axial_w_m_per_k=1.0,
        laminate_through=conductivity,
        laminate_along=conductivity,
        laminate_j_per_m3_k=heat,
        film_w_per_m2_k=film,
    )


@pytest.mark.parametrize(
    ("name", "inner", "outer", "thickness", "conductivity", "film", "efficiency"),
    [
        ("Incropera 6e, example 3.10", 25e-3, 48e-3, 6e-3, 186.0, 50.0, 0.97855),
        ("Holman, example 2-9", 12.5e-3, 28e-3, 1e-3, 200.0, 130.0, 0.86691),
    ],
)
def test_annular_fin_exact(published, name, inner, outer, thickness, conductivity, film, efficiency) -> None:
    m = math.sqrt(2 * film / (conductivity * thickness))
    a, b = m * inner, m * outer
    bessel = 2 * inner / (m * (outer**2 - inner**2)) * (k1(a) * i1(b) - i1(a) * k1(b)) / (i0(a) * k1(b) + k0(a) * i1(b))
    assert bessel == pytest.approx(efficiency, rel=1e-4)
    site = plate(inner, outer, thickness, conductivity, 2.4e6, film)
    whole = 1 / respond((site,), Mesh(24)).steady()[0][0] - 2 * math.pi * inner**2 * film
    got = whole / (2 * math.pi * (outer**2 - inner**2) * film)
    published(f"annular fin, {name}", got, efficiency, source=f"{name}, exact Bessel form", tolerance=0.005)


@pytest.mark.parametrize("n", range(0, 50, 1))
def test_outside_of_a_cylinder(published, n: int) -> None:
    reduced = 10 ** (-2 + 6 * n / 49)
    hole, time, k, thickness = 1e-3, 1.0, 100.0, 1e-3
    heat = k * time / (reduced * hole**2)
    outer = hole * (1 + 8 * math.sqrt(reduced))
    got = flow_at(plate(hole, outer, thickness, k, heat, 1e-6), time, Mesh(48)) / (2 * math.pi * k * thickness)
    published(
        f"cylinder, reduced time {reduced:.4g}",
        got,
        float(CYLINDER.split()[n]),
        source="Carslaw & Jaeger 13.5, as printed by the pumpingtest package",
        tolerance=0.005,
    )


@pytest.mark.parametrize(
    ("name", "alpha", "k", "flux", "time", "rise"),
    [
        ("Holman, example 4-2", 1.4e-5, 45.0, 3.2e5, 30.0, 199.444 - 35.0),
        ("Incropera 6e, example 5.10", 117e-6, 401.0, 3e5, 120.0, 120.027 - 20.0),
    ],
)
def test_semi_infinite_under_constant_flux(published, name, alpha, k, flux, time, rise) -> None:
    depth, radius = 12 * math.sqrt(alpha * time), 5e-3
    site = SOLID._replace(
        core_m=radius,
        land_m=radius,
        plane_m=radius,
        board_m=1.6 * radius,
        thickness_m=depth,
        film_w_per_m2_k=1e-9,
        laminate_through=k,
        laminate_along=1e-9,
        laminate_j_per_m3_k=k / alpha,
        metal_j_per_k=0.0,
    )
    got = rises(site, [time], Mesh(12, 16))[0][0] * flux * math.pi * radius**2
    published(f"surface under flux, {name}", got, rise, source=f"{name}, closed form", tolerance=0.005)


def test_lumped_body_through_a_contact(published) -> None:
    """Incropera 6e example 5.1: time constant 1 s, 174/175 of the step after 5.1648 s."""
    site = SOLID._replace(core_m=1e-4, land_m=1e-4, plane_m=1e-4, board_m=3e-4, metal_j_per_k=1.0, film_w_per_m2_k=1e-6)
    one = np.ones(1)
    gain = gains(respond((site,)), Iron(1e7 * one, one, one, one, 1e9), 5.1648)
    published("lumped joint", gain.near[0], 174 / 175, source="Incropera 6e, example 5.1", tolerance=0.001)


@pytest.mark.parametrize("name", CASES)
def test_reduced_against_full(name: str) -> None:
    site = case(name).site
    times = np.array([0.3, 1.0, 3.0, 8.0, 20.0, 60.0])
    near, far = step_response(build((site,)), times)
    ours = rises(site, times)
    assert np.abs(ours[0] / near - 1).max() < 0.005
    assert np.abs(ours[1] / far - 1)[1:].max() < 0.005


@pytest.mark.parametrize("name", CASES)
def test_all_heat_is_kept(name: str) -> None:
    """Invariant: without loss a watt ends up as an even rise of everything, and the network's rows sum to its loss."""
    site = case(name).site._replace(film_w_per_m2_k=1e-7, leaf_loss_w_per_k=0.0)
    conductance, capacity = matrices(build((site,)))
    assert np.abs(conductance.sum(axis=0)).max() < 1e-6
    early, late = rises(site, [1e5, 2e5])[0]
    assert (late - early) == pytest.approx(1e5 / capacity.sum(), rel=0.01)


@pytest.mark.parametrize("name", ["TO-263 30x30 and plane", "header pin, solid", "0603 on pour, solid"])
def test_every_halving_of_the_grid_converges(name: str) -> None:
    site, times = case(name).site, np.array([1.0, 3.0, 8.0])
    finest = rises(site, times, Mesh(96, 8))[0]
    errors = [np.abs(rises(site, times, Mesh(12 * 2**n, 2**n))[0] / finest - 1).max() for n in range(3)]
    assert errors[0] > errors[1] > errors[2]
    assert errors[0] < 0.03
    assert np.abs(rises(site, times)[0] / finest - 1).max() < 0.012


def test_many_at_once_is_one_by_one() -> None:
    sites = tuple(case(name).site for name in CASES) * 4
    together = respond(sites).steady()
    for n in (0, 7, 20, 50, 91):
        assert respond((sites[n],)).steady()[0][0] == pytest.approx(together[0][n], rel=1e-9)


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(sorted(CASES)), st.floats(1.1, 3.0))
def test_more_copper_takes_more_heat(name: str, factor: float) -> None:
    site = case(name).site
    more = varied(site, copper=factor)
    both = respond((site, more))
    assert (energy_to_hold(both, 3.0)[1] >= energy_to_hold(both, 3.0)[0] * 0.9999).all()


def test_varied_leaves_the_rest_alone() -> None:
    site = case("TO-263 30x30 and plane").site
    assert varied(site) == site
    assert outer_radius(varied(site, size=1.2)) <= 1.21 * outer_radius(site)
    assert varied(site, axial=2.0).axial_w_m_per_k == 2 * site.axial_w_m_per_k


def test_the_board_cools_away_from_the_joint() -> None:
    response = respond((case("TO-263 30x30 and plane").site,))
    profile = warmth(response, 8.0, np.array([2e-3, 5e-3, 8e-3, 12e-3, 20e-3]))[0]
    assert (np.diff(profile) <= 1e-9).all()
    assert 0.9 < profile[0] <= 1.001
    assert profile[-1] < 0.6


@pytest.mark.parametrize("far", [2.0, 3.0, 5.0, 8.0, 10.0])
def test_an_edge_is_felt_as_by_its_mirror_image(far: float) -> None:
    """Independent: a point source beside an insulated edge is itself and its image; mean over the arc on the board."""
    angle = np.linspace(0.0, math.pi, 20001)
    kept = far * np.cos(angle) <= 1.0
    image = np.hypot(far * np.cos(angle) - 2.0, far * np.sin(angle))[kept]
    exact = float(np.mean(np.log(image))) - math.log(2.0)
    radii = np.geomspace(0.5, far, 4001)
    extra = 1.0 / circle_inside(radii, EDGE_FELT, 1e9) - 1.0
    ours = float(np.sum((extra[1:] + extra[:-1]) / 2 * np.diff(np.log(radii))))
    assert ours == pytest.approx(exact, abs=0.08)
