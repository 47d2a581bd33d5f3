"""The product against what the slow independent Monte Carlo gave where the second model differs from the first.

Source of the numbers: tests/data/second-model.json, made by make_second_model.py without the product. Each code draws for itself
here; crossing by crossing they are compared in test_against_independent.py.

False alarms: 84 comparisons of Pd at 5 standard errors of the difference plus 0.003 (the two makings of fog and of joined looks),
with standard errors from eight scramblings on both sides: at most 2e-4 each on a fresh seed (Student, 14 degrees of freedom),
1.6 % for all; the seeds are fixed.
"""

import json

import numpy as np
import pytest

import fencecast as fc
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from statistical import second_model
from statistical.trial import DATA

EXPECTED = json.loads((DATA / "second-model.json").read_text(encoding="utf-8"))
DEMO = DATA.parents[1] / "configs" / "estuary-yard.toml"
POINTS = 512  # of each of eight scramblings


def pd_of(site, cells=None):
    """(Pd, standard error) of the cells of the first class, or of its watched segments."""
    site = fc.Site(**site) if isinstance(site, dict) else site
    strata = pack_cells(site, site.seed)
    if cells is None:
        cells = np.flatnonzero((strata.weather == 0) & watched_sections(site)[strata.section])
    tally = new_tally(len(strata.weather), len(site.camera))
    advance(pack_plan(site), strata, tally, np.asarray(cells), POINTS, threads=1)
    return tally.mean(SUM_PD)[cells], tally.se()[cells]


def hold(found, expected):
    """Each cell within 5 standard errors of the difference."""
    pd, se = found
    for one, error, wanted in zip(pd, se, expected, strict=True):
        bound = 5.0 * np.hypot(error, wanted["se"]) + 0.003
        assert abs(one - wanted["pd"]) < bound, (wanted["section"], wanted["from_m"], one, wanted["pd"], bound)


def test_corners_of_the_demo():
    """Catches paths that leave over the neighbouring section: they cost 0.08 to 0.17 in each of these eight metres."""
    site = fc.load_site(DEMO)
    results = fc.run(site, weather=["clear night"], precision=0.2, max_crossings=64)
    named = list(zip(results["section"].values.tolist(), results["segment_start_m"].values.round(3).tolist()))
    corners = EXPECTED["corners of the demo"]
    cells = [named.index((corner["section"], round(corner["from_m"], 3))) for corner in corners]
    assert [weather.name for weather in site.weather][0] == "clear night"
    hold(pd_of(site, cells), corners)


@pytest.mark.parametrize("barrier", EXPECTED["behind a fence"])
def test_behind_a_fence(barrier):
    """Catches a seen share of what a fence has left: palisades up to an open share of 0.2 are 0.01 to 0.3 too kind then."""
    kind, _, share = barrier.partition(" ")
    hold(pd_of(second_model.behind_a_fence(kind, float(share or 0.0))), EXPECTED["behind a fence"][barrier])


@pytest.mark.parametrize("height_m", [0.9, 1.2, 1.5, 1.8, 2.1, 2.4])
def test_a_palisade_without_gaps_is_a_wall(height_m):
    """Catches a fence that hides nothing, parts hidden whole by where their middle is (0.031 at 1.8 m), and a pixel of the head
    that counts what the fence hides in it (0.011 at 1.5 m). The bound is that of the second model; both see the same draws."""
    palisade, _ = pd_of(second_model.behind_a_fence("palisade", 0.0, height_m))
    wall, _ = pd_of(second_model.behind_a_fence("wall", 0.0, height_m))
    assert abs(palisade.mean() - wall.mean()) < second_model.PALISADE_AS_WALL
    assert np.abs(palisade - wall).max() < second_model.PALISADE_AS_WALL


def test_pd_is_continuous_in_the_open_share():
    """Catches a jump where a fence begins to hide, at either end. Same crossings; open shares 0.001 apart, 0.005 in Pd."""
    for share in (0.0, 0.01, 0.05, 0.2, 0.6, 0.85, 0.999):
        here, _ = pd_of(second_model.behind_a_fence("palisade", share))
        there, _ = pd_of(second_model.behind_a_fence("palisade", share + 0.001))
        assert np.abs(here - there).max() < 0.005, share
        assert (there > here - 1e-4).all(), share  # a fence that is more open hides no more


def test_mesh_in_clear_air_hides_hardly_anything():
    """Catches a fence whose share is taken off the body's signal: 0.85 of it left moved segments by more than 0.01. The bound is
    the second model's."""
    mesh, _ = pd_of(second_model.behind_a_fence("mesh", 0.85))
    nothing, _ = pd_of(second_model.behind_a_fence("mesh", 1.0))
    assert np.abs(mesh - nothing).max() < 0.01


@pytest.mark.parametrize("bearing", second_model.STEEP_BEARINGS)
def test_behind_its_own_foot(bearing):
    """Catches bodies lost behind the foot of a camera that looks steeply down: 0.1 for 1.0 when it looks away."""
    hold(pd_of(second_model.steep(bearing)), EXPECTED["steep"][str(bearing)])


@pytest.mark.parametrize(("apart", "correlation"), second_model.EYES)
def test_two_eyes(apart, correlation):
    """Catches cameras on one post paid for as two places (0.12 at r = 0), posts wider than 2 m, r that acts within a post."""
    hold(pd_of(second_model.two_eyes(apart, correlation)), EXPECTED["two eyes"][f"{apart} m, r {correlation}"])


def test_five_causes():
    """Catches a rule that ends short or does not hear the camera that sees, said to be out of view.

    Shares are means over at least 1000 crossings, of 0 or 1 at the worst: 5 standard errors are 0.08."""
    results = fc.run(fc.Site(**second_model.short_rule()), precision=0.02)
    for segment, wanted in enumerate(EXPECTED["short rule"]):
        shares = results["miss_share"].isel(weather=0, segment=segment)
        assert abs(float(shares.sum()) + float(results["pd"].isel(weather=0, segment=segment)) - 1.0) < 1e-6
        assert shares["cause"].values.tolist() == list(wanted["miss_share"])
        for cause, share in wanted["miss_share"].items():
            assert abs(float(shares.sel(cause=cause)) - share) < 0.08, (segment, cause)
