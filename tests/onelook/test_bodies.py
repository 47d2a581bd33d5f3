"""Looks at bodies that are no persons: coats, sizes and acceptance against numbers computed apart from this code."""

import json
import math

import numpy as np
import pytest

import fencecast as fc
from fencecast.errors import UsageError
from fencecast.onelook.bodies import subject_of
from fencecast.onelook.scene import set_up_look
from fencecast.site import parse_site

# 3 mm lens, 4 m high; the air and ground of the coats' check values.
SITE = """
schema = 2
title = "Yard with a fox"
[site]
ground = "gravel"
[[perimeter]]
name = "fence"
points_m = [[0, 0], [60, 0]]
inside = "left"
barrier = "mesh"
barrier_height_m = 2.4
[sensors.core]
columns = 160
rows = 120
pitch_um = 17
netd_mk = 50
[lenses.wide]
focal_length_mm = 3
f_number = 1.0
[[camera]]
mark = "C1"
position_m = [0, 3]
height_m = 4
bearing_deg = 90
depression_deg = 12
sensor = "core"
lens = "wide"
[[rule]]
kind = "line"
perimeter = "fence"
[[weather]]
name = "night"
hours_per_year = 4000
air_temperature_c = 7
relative_humidity = 0.78
wind_m_s = 2
ground_minus_air_k = -2.5
{more}
"""
OF_FILE = """
[[stimulus]]
kind = "fox"
name = "cubs"
size_m = [0.2, 0.35, 0.08]
confused = 0.5
density_km2 = 2
[[stimulus]]
kind = "insect"
"""
GATE = "[decision]\nsize_gate = [0.45, 0]\n"


@pytest.fixture(scope="module")
def site():
    return parse_site(SITE.format(more=""))


@pytest.fixture(scope="module")
def gated():
    return parse_site(SITE.format(more=GATE + OF_FILE))


def value(look, name):
    return next(rung["value"] for rung in look["rungs"] if rung["part"] == 2 and rung["name"] == name)


def test_coats_and_legs_are_as_warm_as_computed_apart(site):
    """Coat minus air, contrast over gravel before the air, legs minus air [K]: a prototype of the same formulas, written apart.
    Catches: the summer coat in winter, a person's wetness or skin, legs mixed up with the coat."""
    expected = {
        "cat": (2.80, 4.51, 8.22), "fox": (0.44, 2.60, 8.01), "dog": (2.93, 4.61, 9.19), "roe deer": (0.56, 2.70, 8.01),
        "boar": (1.29, 3.28, 9.39), "hedgehog": (2.02, 3.87, 8.40),
    }  # fmt: skip
    for kind, numbers in expected.items():
        body = fc.explain(site, "C1", "night", 20.0, body=kind)["body"]
        found = (body["cover_minus_air_k"], body["cover_contrast_k"], body["legs_minus_air_k"])
        assert found == pytest.approx(numbers, abs=0.011), kind


def test_a_fox_is_taken_for_a_person_as_computed_apart(site, gated):
    """f 3 mm, h 4 m, N50 2, side-on at 10, 20 and 30 m: pixels, cycles, and P(N/N50) A without a gate and from 0.45 on; the
    prototype took all of the body as seen, without its thickness along the sight line: hence the tolerance. Catches: a ratio of
    areas, a wrong reference person."""
    for distance, pixels, cycles, free, from_045 in (
        (10.0, (11.5, 6.6), 4.34, 0.43, 0.36),
        (20.0, (6.1, 3.5), 2.29, 0.53, 0.41),
        (30.0, (4.1, 2.3), 1.54, 0.28, 0.21),
    ):
        for which, expected in ((site, free), (gated, from_045)):
            look = fc.explain(which, "C1", "night", distance, body="fox")
            assert (look["pixels_wide"], look["pixels_tall"]) == pytest.approx(pixels, rel=0.12)
            assert look["cycles"] == pytest.approx(cycles, rel=0.06)
            assert value(look, "this look counts") == pytest.approx(expected, abs=0.05)
            found = look["acceptance"]
            # sqrt(0.40 x 0.70 / (1.75 x 0.50)) = 0.5657, less what is not over the threshold.
            assert found["size_ratio"] / math.sqrt(look["seen_share"]) == pytest.approx(0.5657, rel=0.07)
            assert found["accepted"] == pytest.approx(found["size_passes"] * found["shape_passes"])
            assert value(look, "this look counts") == pytest.approx(look["p_look"] * look["p_discriminate"] * found["accepted"])


def test_a_size_gate_costs_crawlers_and_a_person_without_one_nothing(site):
    """Flat on the ground, from the side, 4 m up at 20 m: sqrt((0.30 + 0.2 x 0.51) 1.70 / (0.875 + 0.2 x 0.28 x 0.5)) = 0.87
    of a person's side, less what is below the threshold; Phi(ln(0.87 x 0.98 / 0.85) / 0.21) = 0.5. Catches: a gate that acts on
    animals alone, and rungs of acceptance in every person's budget."""
    gated = parse_site(SITE.format(more="[decision]\nsize_gate = [0.85, 0]\n"))
    plain, asked = fc.explain(site, "C1", "night", 20.0), fc.explain(gated, "C1", "night", 20.0)
    assert plain["rungs"][-1]["name"] == "this look counts" and plain["acceptance"]["accepted"] == 1.0
    assert [rung["name"] for rung in asked["rungs"][-2:]] == ["accepted by its size", "this look counts"]
    assert value(asked, "accepted by its size") == pytest.approx(0.69, abs=0.03)  # Phi(ln(0.95 / 0.85) / 0.21)
    crawler = fc.explain(gated, "C1", "night", 20.0, "flat_crawl")
    assert crawler["acceptance"]["size_passes"] == pytest.approx(0.5, abs=0.05)
    assert crawler["acceptance"]["shape_passes"] == 1.0


def test_numbers_of_the_file_win_by_name_and_a_kind_needs_no_file(gated):
    """Catches: the kind's size for a stimulus of the file; a kind that only a file can ask for."""
    cubs, fox = (fc.explain(gated, "C1", "night", 15.0, body=name)["body"] for name in ("cubs", "fox"))
    assert (cubs["of_file"], cubs["size_m"], cubs["confused"]) == (True, [0.2, 0.35, 0.08], 0.5)
    assert (fox["of_file"], fox["size_m"], fox["confused"]) == (False, [0.4, 0.7, 0.16], 0.03)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("foxx", 'no body "foxx"; did you mean "fox"?; stimuli of the site: "cubs"; kinds: "hedgehog", "cat"'),
        ("gull", 'no body "gull"; did you mean "bird"?'),
        ("cub", 'did you mean "cubs"?'),
        ("insect", '"insect" stands on no ground: there is nothing that one look could be at'),
        ("web", '"web" stands on no ground'),
    ],
)
def test_unknown_bodies_are_refused_with_the_nearest_name(gated, name, said):
    """Catches: a traceback; a look at a burst, which has no body."""
    with pytest.raises(UsageError, match=".*") as refused:
        fc.explain(gated, "C1", "night", 20.0, body=name)
    assert said in str(refused.value)


def test_an_animal_has_no_gait(site):
    with pytest.raises(UsageError, match="leave --gait out"):
        fc.explain(site, "C1", "night", 20.0, "crawl", body="fox")
    assert fc.explain(site, "C1", "night", 20.0, "crawl", body="people")["gait"] == "crawl"


def test_every_kind_of_body_can_be_looked_at(site):
    """Catches: a kind that lacks a number which one look does not need; JSON that no strict reader takes."""
    for kind in ("hedgehog", "cat", "fox", "dog", "roe deer", "boar", "bird", "bat", "people", "vehicle"):
        look = fc.explain(site, "C1", "night", 20.0, body=kind)
        json.dumps(look, allow_nan=False)
        assert look["rungs"][-1]["name"] == "this look counts"
        assert len(look["parts"]) == 4


def test_a_bird_on_the_fence_seems_to_stand_farther_out(site):
    """h / (h - b) times as far: 4 / (4 - 1.2) = 1.4286 with the median at half of 2.4 m. Catches: size against a person at the
    bird's own foot; a bat above the camera with a ground point."""
    found = fc.explain(site, "C1", "night", 20.0, body="bird")
    assert found["body"]["base_m"] == pytest.approx(1.2)
    assert math.dist(found["acceptance"]["seen_m"], (0, 3)) == pytest.approx(20.0 * 4.0 / 2.8, rel=1e-6)
    low = parse_site(SITE.format(more="").replace("height_m = 4\n", "height_m = 3\n"))
    over = fc.explain(low, "C1", "night", 20.0, body="bat")["acceptance"]
    assert over["seen_m"] is None and over["accepted"] is None


def test_a_view_shows_the_four_legs_and_the_head_in_front(site):
    """It moves to the right, its head before it; a gap between the legs. Catches: a person's silhouette, a mirrored one."""
    frame = fc.view(site, "C1", "night", [9.0], body="roe deer")[0]
    u0, u1, v0, v1 = frame.rectangle_px
    rows, columns = frame.contrast_k.shape
    u, v = np.meshgrid((np.arange(columns) + 0.5 - u0) / (u1 - u0), (np.arange(rows) + 0.5 - v0) / (v1 - v0))

    def mean(left, right, top, bottom):
        return frame.contrast_k[(u > left) & (u < right) & (v > top) & (v < bottom)].mean()

    belly, front, hind = mean(0.4, 0.6, 0.75, 0.95), mean(0.66, 0.78, 0.75, 0.95), mean(0.1, 0.22, 0.75, 0.95)
    head, behind = mean(0.84, 0.97, 0.02, 0.12), mean(0.05, 0.3, 0.02, 0.1)
    assert min(front, hind) > 5.0 * abs(belly) and head > 5.0 * abs(behind)
    assert (frame.who, frame.part, frame.gait) == ("roe deer", "trunk", None)
    assert frame.legs_temperature_c == pytest.approx(7.0 + 8.01, abs=0.011)


def test_the_file_s_shape_cycles_stand_in_for_none(site):
    """Catches: a stimulus without shape_cycles of its own judged by another number than [decision] says."""
    assert set_up_look(site, "C1", "night", 20.0, body="fox").shape_cycles == 4.0
    other = parse_site(SITE.format(more="[decision]\nshape_cycles = 7\n"))
    assert set_up_look(other, "C1", "night", 20.0, body="fox").shape_cycles == 7.0
    assert subject_of(other, None).confused == 1.0
