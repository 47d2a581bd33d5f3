"""Colours stay apart for every eye and in grey print; the requirement is always the ramp's largest step of lightness.

The least distances are the ones that were measured when the palette was chosen (drawn and looked at); a change of the
palette that brings two neighbours nearer than that fails here.
"""

from itertools import combinations, pairwise

import numpy as np
import pytest

from fencecast.show.paper import style
from show import colours

EYES = ("normal", "protan", "deutan", "tritan", "grey")
REQUIREMENTS = (0.30, 0.50, 0.70, 0.80, 0.85, 0.90, 0.95, 0.99)


@pytest.mark.parametrize(
    "first, second, expected",
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_the_measure_itself_gives_the_published_differences(first, second, expected):
    """Catches: a slip in this folder's CIEDE2000. Source: test data of Sharma, Wu and Dalal 2005, from memory."""
    assert colours.ciede2000(first, second) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("requirement", [*REQUIREMENTS, 0.03, 0.15, 0.6, 0.999])
def test_lightness_rises_with_pd_and_the_requirement_is_a_large_step(requirement):
    """Catches: a ramp that is not ordered in grey print (Crameri et al. 2020), or a requirement that is lost in it.

    With all five warm steps the requirement is the largest step; with fewer, which are spread, it stays at 19.5 or more.
    """
    ramp = style.fence7(requirement)
    steps = np.diff([colours.lightness(colour) for colour in ramp.colours])
    assert (steps > 0).all()
    assert steps[-2] >= 19.5
    if len(steps) == 6:
        assert int(np.argmax(steps)) == 4


@pytest.mark.parametrize("requirement", REQUIREMENTS)
def test_edges_hold_the_requirement_and_no_sliver(requirement):
    """Catches: an edge within 0.05 of the requirement, a requirement that is no edge, colours and edges out of step."""
    ramp = style.fence7(requirement)
    assert ramp.edges[-3] == requirement and ramp.edges[-1] == 1.0 and ramp.edges[0] == 0.0
    assert ramp.edges[-2] == pytest.approx((1 + requirement) / 2)
    assert len(ramp.edges) == len(ramp.colours) + 1
    assert all(requirement - edge > 0.05 for edge in ramp.edges[1:-3])
    assert ramp.colours[0] == style.RAMP_WARM[0] and ramp.colours[-3] == style.RAMP_WARM[4]
    assert ramp.colour(requirement) == style.RAMP_COOL[0] and ramp.colour(requirement - 1e-9) == style.RAMP_WARM[4]
    assert ramp.colour(0.0) == ramp.colours[0] and ramp.colour(1.0) == ramp.colours[-1]


def test_the_ramp_of_0_90_is_the_one_of_the_design():
    assert style.fence7(0.90).edges == (0.0, 0.2, 0.4, 0.6, 0.8, 0.90, pytest.approx(0.95), 1.0)
    assert style.fence7(0.90).colours == style.RAMP_WARM + style.RAMP_COOL
    assert style.fence7(0.85).edges[:5] == (0.0, 0.2, 0.4, 0.6, 0.85)


@pytest.mark.parametrize("eye, least, at_requirement", [
    ("normal", 8.1, 39), ("protan", 6.9, 39), ("deutan", 8.0, 38), ("tritan", 9.9, 41), ("grey", 4.9, 13.6),
])  # fmt: skip
def test_neighbours_of_the_ramp_stay_apart(eye, least, at_requirement):
    """Catches: two steps that one kind of eye, or a grey printer, cannot tell. Below the requirement grey is 9.3 or more."""
    ramp = style.fence7(0.90).colours
    steps = [colours.difference(a, b, eye) for a, b in pairwise(ramp)]
    assert min(steps) >= least - 0.05
    assert steps[4] >= at_requirement - 0.05
    if eye == "grey":
        assert min(steps[:5]) >= 9.3
    else:
        assert max(steps) == steps[4]


@pytest.mark.parametrize("eye, causes, lenses", [
    ("normal", 32, 46), ("protan", 19, 42), ("deutan", 24, 33), ("tritan", 18, 32), ("grey", 11.4, 27),
])  # fmt: skip
def test_causes_and_lenses_stay_apart(eye, causes, lenses):
    """Catches: two causes, or lenses A and B, that look alike to one kind of eye or in grey. The two
    nearest in grey, "no rule there" and "washed out", have hatches that lean apart, white on the one and dark on the other."""
    fills = [fill for cause, (fill, *_) in style.CAUSES.items() if cause != "not accepted"]
    assert min(colours.difference(a, b, eye) for a, b in combinations(fills, 2)) >= causes - 0.5
    assert colours.difference(style.A_COLOUR, style.B_COLOUR, eye) >= lenses - 0.5


@pytest.mark.parametrize("eye, apart", [("normal", 28), ("protan", 17), ("deutan", 22), ("tritan", 17), ("grey", 11.5)])
def test_the_cause_of_a_size_gate_stays_apart_from_the_others(eye, apart):
    """Catches: "not accepted", which few strips have, that looks like one of the other five to one kind of eye or in grey; in
    black and white its hatch stands upright on dark, and none of the other dark ones has any."""
    gate = style.CAUSES["not accepted"]
    assert min(colours.difference(gate[0], fill, eye) for fill, *_ in style.CAUSES.values() if fill != gate[0]) >= apart
    assert colours.contrast(gate[2], gate[0]) >= 4.5


BRIEF, WASHED = style.CAUSES["too brief"], style.CAUSES["washed out"]


@pytest.mark.parametrize(
    "front, back, least",
    [
        (style.INK, style.PAPER, 17.3),
        (style.SECOND, style.PAPER, 7.4),
        (style.SECOND, style.BUILDING, 5.7),
        (style.LINE, style.PAPER, 3.4),
        (style.B_COLOUR, style.PAPER, 3.2),
        (style.B_TEXT, style.PAPER, 7.0),
        (style.A_COLOUR, style.PAPER, 9.5),
        (style.EYE_OUTLINE, style.PAPER, 6.4),
        (BRIEF[2], BRIEF[0], 4.5),
        (WASHED[2], WASHED[0], 4.5),
    ],
)
def test_text_and_lines_have_contrast(front, back, least):
    """Catches: text under 4.5 or lines under 3 on what they stand on (WCAG 2.1)."""
    assert colours.contrast(front, back) >= least


def test_a_hatch_shows_on_every_step_of_the_ramp():
    """Catches: a black hatch on dark brown, where 'undecided' would look like plain Pd."""
    for colour in style.RAMP_WARM + style.RAMP_COOL:
        assert colours.contrast(style.hatch_colour(colour), colour) >= 4.5


@pytest.mark.parametrize("direction", ["rising", "falling", "upright"])
def test_hatches_are_clipped_have_one_phase_and_mark_a_single_segment(direction):
    """Catches: lines outside the polygon, lines that do not join across touching runs, one stray dash in a run 0.6 mm wide."""
    left, right = [(10, 5), (14, 5), (14, 11.6), (10, 11.6)], [(14, 5), (19, 5), (19, 11.6), (14, 11.6)]
    both = [(10, 5), (19, 5), (19, 11.6), (10, 11.6)]
    lengths = []
    for polygon in (left, right, both):
        lines = style.hatch_segments(polygon, 1.0, direction)
        lengths.append(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum())
    assert lengths[0] + lengths[1] == pytest.approx(lengths[2], abs=0.2)
    assert lengths[2] == pytest.approx(9 * 6.6, rel=0.15)  # area over spacing
    points = style.hatch_segments(both, 1.0, direction).reshape(-1, 2)
    assert points[:, 0].min() >= 10 - 1e-9 and points[:, 0].max() <= 19 + 1e-9
    if direction != "upright":
        assert len(style.hatch_segments([(10, 5), (10.6, 5), (10.6, 11.6), (10, 11.6)], 1.0, direction)) >= 4


def test_rising_and_falling_hatches_lean_apart():
    """Catches: 'rising' drawn falling, which would turn 'undecided' into 'washed out' (y runs downwards on the page)."""
    (start, end) = style.hatch_segments([(0, 0), (20, 0), (20, 20), (0, 20)], 1.0, "rising")[9]
    assert (end[0] - start[0]) * (end[1] - start[1]) < 0
    (start, end) = style.hatch_segments([(0, 0), (20, 0), (20, 20), (0, 20)], 1.0, "falling")[9]
    assert (end[0] - start[0]) * (end[1] - start[1]) > 0


def test_dots_lie_inside_and_fill_the_polygon():
    """Catches: dots over the frame, or a 'no data' stretch that is left plain white."""
    dots = style.dot_points([(10, 5), (30, 5), (30, 11.6), (10, 11.6)])
    assert len(dots) == pytest.approx(20 * 6.6 / style.DOT_SPACING_MM**2, rel=0.2)
    assert dots[:, 0].min() >= 10.15 - 1e-9 and dots[:, 1].max() <= 11.45 + 1e-9
