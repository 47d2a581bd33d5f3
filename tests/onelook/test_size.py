"""The size gate in one look: its rung, its chance, and nothing of it without a gate."""

from __future__ import annotations

import pytest

import fencecast as fc
from fencecast.onelook.accepted import gate_words
from fencecast.physics.acceptance import size_acceptance

SITE = """
schema = 2
title = "Gate"
seed = 5
[site]
ground = "gravel"
[[perimeter]]
name = "fence"
points_m = [[0, 0], [40, 0]]
inside = "left"
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
position_m = [0, 2]
height_m = 4
aim_m = [16, 2]
sensor = "core"
lens = "wide"
[[rule]]
kind = "line"
perimeter = "fence"
[[weather]]
name = "night"
hours_per_year = 3000
air_temperature_c = 5
relative_humidity = 0.75
ground_minus_air_k = -2
[decision]
"""
RUNG = "accepted by its size"


def look(gate, gait="crawl"):
    return fc.explain(fc.parse_site(SITE + gate), "C1", "night", 14.0, gait)


def test_a_gate_adds_one_rung_and_takes_its_share():
    """Catches a gate that is told and not applied, a size that is not the body's, a rung in looks without a gate. Source: 15
    degrees from above, across the view, (0.5 cos + 0.51 sin) x 1.2 m over (1.75 cos + 0.28 sin) x 0.5 m: the root is 0.915 of a
    person; what does not pass the threshold is 0.04 at most."""
    free, gated = look(""), look("size_gate = [0.9, 0]")
    names = [[rung["name"] for rung in each["rungs"]] for each in (free, gated)]
    assert RUNG not in names[0] and free["acceptance"]["size_passes"] == 1.0
    assert [name for name in names[1] if name != RUNG] == names[0]
    assert gated["acceptance"]["size_ratio"] == pytest.approx(0.915, abs=0.04)
    assert gated["acceptance"]["size_passes"] == size_acceptance(
        gated["acceptance"]["size_ratio"], gated["cycles"], 0.9, 0.0, 0.2
    )
    assert 0.1 < gated["acceptance"]["size_passes"] < 0.6
    assert gated["p_counts"] == pytest.approx(free["p_counts"] * gated["acceptance"]["size_passes"], rel=1e-12)
    assert gated["rungs"][-1]["value"] == gated["p_counts"] and gated["rungs"][-2]["name"] == RUNG


def test_a_walker_passes_a_least_size():
    """Catches a person of usual size who is left out."""
    assert look("size_gate = [0.45, 0]", "walk")["acceptance"]["size_passes"] > 0.98


def test_words_of_a_gate():
    assert [gate_words(gate) for gate in ((0.45, 0.0), (0.45, 2.5), (0.0, 2.5))] == ["0.45 and more", "0.45 to 2.5", "up to 2.5"]
