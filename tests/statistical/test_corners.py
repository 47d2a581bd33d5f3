"""An intrusion ends inside: what a convex corner no longer takes, and what it may not touch (the model's section 1)."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "kernels"))

from kernel_sites import CAMERA, FENCE, make_site

from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.path import draw_track
from fencecast.site import load_site

DEMO = Path(__file__).parents[2] / "configs" / "estuary-yard.toml"
RING = [[0.0, 0.0], [30.0, 0.0], [30.0, 30.0], [0.0, 30.0]]


def clear_night_pd(points=256):
    """Pd of the demo's segments on its first class, by code."""
    site = load_site(DEMO)
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    which = np.flatnonzero(cells.weather == 0)
    wanted = [i for i in which if cells.start_m[i] in (0.0, 47.0, 32.0)]
    tally = new_tally(len(cells.weather), len(site.camera))
    advance(plan, cells, tally, np.array(wanted), points, 1)
    return {(site.perimeter[cells.section[i]].name, cells.start_m[i]): tally.mean(SUM_PD)[i] for i in wanted}


def test_demo_corners():
    """Catches a path that leaves over the neighbour's fence and counts as missed, and an angle drawn twice. Reference: an
    independent code of the model's second version: 0.93, 0.94, 0.93 and 0.99, each within 0.015; before: 0.76 to 0.94."""
    pd = clear_night_pd()
    wanted = {("quay", 0.0): 0.93, ("quay", 47.0): 0.94, ("north fence", 0.0): 0.93, ("west fence", 32.0): 0.99}
    assert {key: pd[key] for key in wanted} == pytest.approx(wanted, abs=0.015)


def angles(points, closed, x_share, u, intruder=None, section=0, other=(), offset_m=0.0):
    """Bearing of the outgoing leg from the inward normal [deg], anticlockwise, of one path inwards."""
    fence = {**FENCE, "points_m": points, "closed": closed}
    rule = {"kind": "line", "perimeter": "fence", "offset_m": offset_m}
    site = make_site(perimeter=[fence, *other], camera=[{**CAMERA, "position_m": [500.0, 500.0]}], rule=[rule], intruder=intruder)
    plan = pack_plan(site)
    track = draw_track(plan.scene, plan.intruder, section, 0.0, 30.0, 0, 1.3, x_share, u, 0.5, 0.5, 0.5, 0.5)
    nx, ny = plan.scene.edge_normal[track.edge]
    return math.degrees(math.atan2(nx * track.out_y - ny * track.out_x, nx * track.out_x + ny * track.out_y))


@pytest.mark.parametrize("s", [0.3, 1.0, 1.7])
def test_straight_corner(s):
    """Catches a limit at the wrong depth, on the wrong side, and draws that bunch. By hand: s from a corner of 90 degrees the
    limit is atan(s / 3); what is left of -30 to 30 degrees is drawn evenly."""
    limit = math.degrees(math.atan(s / 3.0))
    found = [angles(RING, True, s / 30.0, u) for u in (1e-9, 0.25, 0.5, 1.0 - 1e-9)]  # the corner is behind, on the left
    assert found == pytest.approx([-30.0 + share * (limit + 30.0) for share in (0.0, 0.25, 0.5, 1.0)], abs=1e-5)
    found = [angles(RING, True, 1.0 - s / 30.0, u) for u in (1e-9, 0.5, 1.0 - 1e-9)]
    assert found == pytest.approx([-limit, 0.5 * (30.0 - limit), 30.0], abs=1e-5)


def test_out_of_reach_stays_as_drawn():
    """Catches a restriction where there is nothing to restrict: equal bits. 3 tan 30 = 1.74 m from the corner, and at a corner
    that turns away."""
    alone = [angles([[0.0, 0.0], [30.0, 0.0]], False, share, u) for share in (0.06, 0.5, 0.94) for u in (0.01, 0.99)]
    assert [angles(RING, True, share, u) for share in (0.06, 0.5, 0.94) for u in (0.01, 0.99)] == alone
    away = [[0.0, 0.0], [30.0, 0.0], [30.0, -20.0]]
    assert [angles(away, False, 0.99, u) for u in (0.01, 0.99)] == [
        angles([[0.0, 0.0], [30.0, 0.0]], False, 0.99, u) for u in (0.01, 0.99)
    ]


def test_joined_sections_and_others():
    """Catches joins that are not seen, and fences that join nothing taken for a corner. By hand: a second section from 0.4 m
    beside the end limits as the corner does; from 0.6 m it does not."""
    line = [[0.0, 0.0], [30.0, 0.0]]
    beside = {**FENCE, "name": "side", "points_m": [[30.4, 0.0], [30.4, 20.0]], "inside": "left"}
    apart = {**beside, "points_m": [[30.6, 0.0], [30.6, 20.0]]}
    limit = math.degrees(math.atan(1.0 / 3.0))
    assert angles(line, False, 29.4 / 30.0, 1e-9, other=[beside]) == pytest.approx(-limit, abs=1e-5)
    assert angles(line, False, 29.4 / 30.0, 1e-9, other=[apart]) == pytest.approx(-30.0, abs=1e-5)


def test_no_possible_angle_goes_along_the_bisector():
    """Catches a path through the fence when the file allows no other. By hand: 1 m from a corner of 45 degrees the leg must lean
    atan(2 / 3) = 33.7 degrees or more, which -30 to 30 has no share in: along the bisector, 67.5 degrees from the normal."""
    assert angles([[0.0, 0.0], [30.0, 0.0], [20.0, 10.0]], False, 29.0 / 30.0, 0.5) == pytest.approx(67.5, abs=1e-6)


def test_along_a_face():
    """Catches a path that is stopped at the face that it runs along, and one that enters the building that it starts at. A store
    stands at the fence from x = 10 to 20, 6 m deep; by hand: 12 m along its face, nothing into it, 12 m past its corner."""
    hut = {"name": "hut", "footprint_m": [[10.0, 0.0], [20.0, 0.0], [20.0, 6.0], [10.0, 6.0]], "height_m": 3.0}
    straight = {"approach_angle_deg": 0.0, "turn_deg": 0.0}
    site = make_site(obstacle=[hut], camera=[{**CAMERA, "position_m": [500.0, 500.0]}], intruder=straight)
    plan = pack_plan(site)
    length = [
        draw_track(plan.scene, plan.intruder, 0, 0.0, 40.0, 0, 1.3, x / 40.0, 0.5, 0.5, 0.5, 0.5, 0.5).out_length_m
        for x in (9.0, 10.0, 15.0, 20.0, 21.0)
    ]
    assert length == pytest.approx([12.0, 12.0, 0.0, 12.0, 12.0])
