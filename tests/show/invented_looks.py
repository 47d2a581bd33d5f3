"""Invented looks and frames, to draw one-look pictures from: no physics behind the numbers, only their shape is right."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fencecast.onelook.hiding import Hider, Outside
from fencecast.onelook.scenery import Shape
from fencecast.site import parse_site

SITE = """
schema = 2
title = "Invented slipway"
seed = 11
{units}
[site]
ground = "gravel"
[[perimeter]]
name = "north fence"
points_m = [[0, 0], [60, 0]]
inside = "left"
[sensors.core]
columns = {columns}
rows = {rows}
pitch_um = 17
netd_mk = 50
[sensors.small]
columns = 80
rows = 60
pitch_um = 17
netd_mk = 50
[lenses.wide]
focal_length_mm = 3
f_number = 1.0
[lenses.long]
focal_length_mm = 6
f_number = 1.0
[lenses.longest]
focal_length_mm = 9
f_number = 1.2
[[camera]]
mark = "C3"
position_m = [0, 1]
height_m = 6
bearing_deg = 90
depression_deg = 14
sensor = "core"
lens = "wide"
[[camera]]
mark = "quay end"
position_m = [60, 1]
height_m = 5
bearing_deg = 270
depression_deg = 9
sensor = "small"
lens = "long"
[[rule]]
kind = "line"
perimeter = "north fence"
[[weather]]
name = "clear night"
hours_per_year = 2650
air_temperature_c = 5
relative_humidity = 0.75
ground_minus_air_k = -2
[[weather]]
name = "advection fog"
hours_per_year = 310
air_temperature_c = 7
relative_humidity = 0.99
ground_minus_air_k = 0.3
visibility_m = 70
fog = "advection"
"""


def invented_site(units: str = "si", columns: int = 160, rows: int = 120, title: str | None = None):
    """A site with two lenses and two cameras; what one-look pictures ask of a site."""
    text = SITE.format(units='units = "us"' if units == "us" else "", columns=columns, rows=rows)
    if title is not None:
        text = text.replace("Invented slipway", title)
    return parse_site(text)


def ladder(start_k: float, steps, q: float, pass_chance: float, cycles: float, n50: float = 2.0) -> list[dict]:
    """Rungs of a look: `steps` are (name, detail, contrast after it [K], check)."""
    rungs = [
        {
            "part": 1, "name": "torso above the ground", "detail": "surface, 9.2 °C over 6.7 °C", "before_k": None,
            "after_k": start_k, "factor": None, "check": f"2.50 K; {start_k:.2f} as radiance",
        }
    ]  # fmt: skip
    before = start_k
    for name, detail, after, check in steps:
        factor = after / before if before else math.inf if after else math.nan
        rungs.append({"part": 1, "name": name, "detail": detail, "before_k": before, "after_k": after, "factor": factor,
                      "check": check})  # fmt: skip
        before = after
    x = cycles / n50
    enough = x ** (2.7 + 0.7 * x) / (1 + x ** (2.7 + 0.7 * x))
    ends = [
        ("share of the body seen", "signal kept by pixels over threshold", q, f"q = {q:.3f}"),
        ("three pixels or more pass", "2.6 of 39 expected", pass_chance, "Poisson-binomial"),
        ("enough detail to classify", f"{cycles:.2f} cycles, half of all at {n50:.1f}", enough,
         f"½√({4 * cycles**2 / max(q, 1e-9):.1f} × {q:.3f}) = {cycles:.2f}"),
        ("this look counts", "both conditions", pass_chance * enough, f"{pass_chance:.3f} × {enough:.3f}"),
    ]  # fmt: skip
    return rungs + [
        {"part": 2, "name": name, "detail": detail, "value": value, "check": check}
        | {"before_k": None, "after_k": None, "factor": None}
        for name, detail, value, check in ends
    ]


def explanation(rungs, noise_k=0.09, threshold_k=0.44, **more) -> dict:
    base = {
        "camera": "C3", "lens": "wide", "weather": "advection fog", "fog_text": "optical range 70 m", "gait": "walk",
        "distance_m": 40.0, "noise_k": noise_k, "threshold_k": threshold_k, "rungs": rungs,
    }  # fmt: skip
    return {**base, **more}


def _air(start: float, kept_by_fog: float) -> list:
    a = 0.953 * start
    b = 0.964 * a
    c = kept_by_fog * b
    return [
        ("emissivity and reflections", "cloth 0.87, gravel 0.93", a, "0.93 of each, rest reflected"),
        ("water vapour", "40.4 m of air", b, "gas transmission 0.964"),
        ("fog", "drops 9 µm", c, f"exp(−{-math.log(kept_by_fog) / 40.4:.4f} × 40.4) = {kept_by_fog:.3f}"),
        ("air between body and ground", "ground 51 m away, behind", 0.93 * c, "ground colder than the air"),
        ("window", "drops on 0.05 of the pupil", 0.93 * 0.95 * c, "1 − 0.05 = 0.95"),
        ("blur and pixel fill", "strongest torso pixel", 0.93 * 0.95 * 0.95 * c, "3.4 × 11.4 pixels, blur 0.55"),
    ]


def looks() -> dict[str, dict]:
    """Explanations by name: an ordinary one and the extremes."""
    clear = [
        ("emissivity and reflections", "cloth 0.87, gravel 0.93", 2.41, "0.93 of each, rest reflected"),
        ("water vapour", "20.2 m of air", 2.36, "gas transmission 0.979"),
        ("air between body and ground", "ground 25.7 m away, behind", 2.43, "ground warmer than the air"),
        ("blur and pixel fill", "strongest torso pixel", 2.40, "4.1 × 15.4 pixels, blur 0.42"),
    ]
    turning = [
        ("emissivity and reflections", "wet cloth 0.96, asphalt 0.943", -0.21, "0.95 of each, rest reflected"),
        ("water vapour", "40.4 m of air", -0.20, "gas transmission 0.964"),
        ("rain", "10 mm/h", -0.18, "exp(−3.65e-4 × 10^0.63 × 40.4) = 0.939"),
        ("air between body and ground", "ground 51 m away, behind", 0.05, "ground warmer than the air"),
        ("window", "film of 5 µm", 0.028, "band mean of exp(−4πkx/λ) = 0.57"),
        ("blur and pixel fill", "strongest torso pixel", 0.026, "3.4 × 11.4 pixels, blur 0.55"),
    ]
    nothing = [
        ("emissivity and reflections", "cloth 0.87, gravel 0.93", 0.0, "nothing to reflect away"),
        ("water vapour", "40.4 m of air", 0.0, "gas transmission 0.964"),
        ("air between body and ground", "ground 51 m away, behind", 0.012, "ground warmer than the air"),
        ("blur and pixel fill", "strongest torso pixel", 0.011, "3.4 × 11.4 pixels, blur 0.55"),
    ]
    long_words = [
        ("emissivity and reflections of clothing, of the bare head and of the ground below", "wet cloth 0.96 as drawn, "
         "weathered asphalt 0.943, low sky 10 K under the air temperature of the class", 2.0,
         "0.943 × L(279.9 K) + 0.057 × L(270.1 K) = 38.212; 0.960 × L(282.4 K) + 0.040 × 37.1 = 40.31"),
        *_air(2.53, 0.164)[1:],
    ]  # fmt: skip
    return {
        "fog": explanation(ladder(2.53, _air(2.53, 0.164), 0.105, 0.492, 1.01)),
        "clear": explanation(ladder(2.53, clear, 0.964, 1.0, 3.92), weather="clear night", fog_text="", distance_m=20.0),
        "clear and far": explanation(ladder(2.53, clear, 0.964, 1.0, 1.2), weather="clear night", fog_text="", gait="crawl"),
        "under the noise": explanation(ladder(2.53, _air(2.53, 0.0021), 0.0001, 0.0, 0.02), weather="dense advection fog"),
        "thick fog": explanation(ladder(2.53, _air(2.53, 3.2e-9), 0.0, 0.0, 0.0), weather="dense advection fog"),
        "colder than the ground": explanation(
            ladder(-1.31, [(n, d, -0.52 * a, c) for n, d, a, c in _air(2.53, 0.6)], 0.88, 1.0, 1.8),
            weather="warm dusk",
            fog_text="",
        ),
        "sign turns": explanation(ladder(-0.22, turning, 0.0, 0.0, 0.03), weather="heavy rain", fog_text=""),
        "no contrast": explanation(ladder(0.0, nothing, 0.0, 0.0, 0.02), weather="warm dusk", fog_text="", camera="quay end"),
        "lost on the way": explanation(
            ladder(0.05, [("window", "wholly wet", 0.0, "0"), ("blur and pixel fill", "strongest torso pixel", 0.0, "0 × 0.95")],
                   0.0, 0.0, 0.0), weather="heavy rain", fog_text=""
        ),
        "long words": explanation(
            ladder(2.53, long_words, 0.105, 0.492, 1.01), camera="north-east boiler house roof corner",
            weather="late autumn advection fog",
            gait="flat crawl",
        ),
        "low threshold": explanation(ladder(2.53, _air(2.53, 0.164), 0.6, 0.95, 1.9), noise_k=0.09, threshold_k=0.11),
    }  # fmt: skip


class Frame(NamedTuple):
    """One person in one frame, with the fields that the camera's eye reads."""

    distance_m: float
    weather: str
    comparison: bool
    contrast_k: np.ndarray
    over: np.ndarray
    peak_k: float
    pixels: int
    pixels_over: int
    rectangle_px: tuple
    noise_k: float
    threshold_k: float
    tau: float
    air_temperature_c: float
    ground_temperature_c: float
    torso_temperature_c: float
    visibility_m: float
    camera: str
    lens: str
    gait: str
    hidden_by: tuple = ()
    hidden_share: float = 0.0
    outside: tuple = ()
    scenery: tuple = ()
    horizon: tuple = ()
    who: str = "person"
    part: str = "torso"
    legs_temperature_c: float | None = None
    accepted: float | None = None


# What a look at an animal says; its drawn shape stays a person's.
_ROE_DEER = {"gait": None, "who": "roe deer", "part": "trunk", "legs_temperature_c": 15.0, "accepted": 0.13}

# Silhouette of an upright person: (across from, to, down from, to, share filled, head).
_PARTS = (
    (0.33, 0.67, 0.0, 0.13, 1.0, True),
    (0.06, 0.94, 0.13, 0.53, 1.0, False),
    (0.14, 0.86, 0.53, 0.76, 1.0, False),
    (0.22, 0.78, 0.76, 1.0, 0.7, False),
)


def _cover(low: float, high: float, count: int) -> np.ndarray:
    """Share of each of `count` pixels between two edges."""
    edge = np.arange(count, dtype=float)
    return np.clip(np.minimum(high, edge + 1) - np.maximum(low, edge), 0, 1)


def frame(
    distance_m, torso_k, head_k, columns=160, rows=120, focal_px=176.0, sigma_k=0.09, comparison=False, tilt_deg=14.0, **more
) -> Frame:
    """A person as boxes in the middle of a frame; `torso_k` and `head_k` are what is left of the contrast."""
    height_m, tilt = 6.0, np.radians(tilt_deg)
    rows_of = [rows / 2 + focal_px * np.tan(np.arctan2(height_m - z, distance_m) - tilt) for z in (1.7, 0.0)]
    wide = 0.48 * focal_px / np.hypot(distance_m, height_m)
    u0, u1, v0, v1 = columns / 2 - wide / 2, columns / 2 + wide / 2, rows_of[0], rows_of[1]
    contrast, cover = np.zeros((rows, columns)), np.zeros((rows, columns))
    for a, b, top, bottom, fill, head in _PARTS:
        part = np.outer(
            _cover(v0 + top * (v1 - v0), v0 + bottom * (v1 - v0), rows), _cover(u0 + a * wide, u0 + b * wide, columns)
        )
        contrast += fill * (head_k if head else torso_k) * part
        cover += fill * part
    over = np.abs(contrast) > 5 * sigma_k
    peak = contrast.flat[np.argmax(np.abs(contrast))]
    base = {
        "distance_m": distance_m, "weather": "clear night" if comparison else "advection fog", "comparison": comparison,
        "contrast_k": contrast, "over": over, "peak_k": float(peak), "pixels": int(np.sum(cover > 0.01)),
        "pixels_over": int(np.sum(over)), "rectangle_px": (u0, u1, v0, v1), "noise_k": 0.055, "threshold_k": 5 * sigma_k,
        "tau": 0.98 if comparison else float(np.exp(-0.0447 * distance_m)), "air_temperature_c": 7.0, "ground_temperature_c": 6.7,
        "torso_temperature_c": 9.2, "visibility_m": 20000.0 if comparison else 70.0, "camera": "C3", "lens": "wide",
        "gait": "walk",
    }  # fmt: skip
    return Frame(**{**base, **more})


def _in_fog(distances, visibility_m=70.0, columns=160, rows=120, focal_px=176.0, alone=False, torso_k=2.3, **more) -> list[Frame]:
    frames = []
    for distance in distances:
        tau = float(np.exp(-3.1 / visibility_m * distance))
        shape = {"columns": columns, "rows": rows, "focal_px": focal_px}
        frames.append(frame(distance, torso_k * tau, 2.2 * torso_k * tau, tau=tau, visibility_m=visibility_m, **shape, **more))
        if not alone:
            other = {**more, "weather": "clear night"}
            frames.append(frame(distance, torso_k, 2.2 * torso_k, comparison=True, sigma_k=0.1, **shape, **other))
    return frames


def _shapes(columns=160, rows=120) -> tuple[Shape, ...]:
    """A store that fills the right half of the picture from row 20 to 100, pallets before its middle, a fence at the left, a line
    without a barrier that the store covers in part: everything that can stand in a picture."""
    c, r = columns / 160, rows / 120

    def box(left, right, top, bottom):
        return np.array([[left * c, top * r], [right * c, top * r], [right * c, bottom * r], [left * c, bottom * r]])

    return (
        Shape("north fence", "fence", tuple(box(8 * k, 8 * k + 8, 10 + 4 * k, 110 - 4 * k) for k in range(6)), (4.0,) * 6),
        Shape("pallets", "obstacle", (box(90, 112, 70, 110),), (9.0,)),
        Shape("store", "obstacle", (box(80, 150, 20, 100),), (14.0,)),
        Shape("kerb", "line", (np.array([[0.0, 60.0 * r], [160.0 * c, 60.0 * r]]),), (30.0,)),
    )


def in_the_way(**more) -> list[Frame]:
    """One person below the picture, one hidden by a store, one half hidden by pallets behind a fence, one free."""
    pallets = Hider("pallets", "obstacle", 9.0, 1.6, 0.9, 0.0, "")
    store = Hider("store", "obstacle", 14.0, 6.0, 7.0, 0.0, "")
    fence = Hider("north fence", "fence", 4.0, 2.4, 1.9, 0.85, "")
    changes = (
        {"pixels": 0, "pixels_over": 0, "outside": (Outside("below", 31.4, False),)},
        {"hidden_by": (fence, pallets), "hidden_share": 0.52},
        {"pixels": 0, "pixels_over": 0, "hidden_by": (store,), "hidden_share": 1.0},
        {},
    )
    line = (np.array([[0.0, 8.0], [160.0, 8.0]]),)
    frames = []
    for frame_, change in zip(_in_fog([2, 12, 20, 30], alone=True, weather="clear night", **more), changes):
        frames.append(frame_._replace(scenery=_shapes(), horizon=line, **change))
    return frames


def eyes() -> dict[str, tuple[list[Frame], dict]]:
    """Frames, and what the site needs for them, by name."""
    return {
        "three": (_in_fog([10, 20, 40]), {}),
        "no person": ([f._replace(**_ROE_DEER) for f in _in_fog([10, 20, 40])], {}),
        "one": (_in_fog([25]), {}),
        "two": (_in_fog([15, 45]), {}),
        "four": (_in_fog([10, 20, 30, 40]), {}),
        "best class asked": (_in_fog([10, 20, 40], visibility_m=20000, alone=True, weather="clear night"), {}),
        "one, best class": (_in_fog([25], visibility_m=20000, alone=True, weather="clear night"), {}),
        "near": (_in_fog([3, 6, 20], tilt_deg=35.0), {}),
        "near and large": (_in_fog([4, 6, 20], tilt_deg=40.0, focal_px=352.0), {}),
        "larger than the crop": (_in_fog([6, 12, 30], tilt_deg=25.0, focal_px=700.0), {}),
        "under the mast": (_in_fog([0.5, 6]), {}),
        "colder than the ground": (_in_fog([10, 20, 40], visibility_m=200, torso_k=-0.6, weather="warm dusk"), {}),
        "nothing left": (_in_fog([20, 60], visibility_m=30), {}),
        "in the way": (in_the_way(), {}),
        "in the way, US units": (in_the_way(), {"units": "us"}),
        "small sensor": (_in_fog([10, 20, 40], columns=80, rows=60, focal_px=120.0, camera="quay end", lens="long"), {}),
        "large sensor": (_in_fog([10, 20, 40], columns=640, rows=480, focal_px=520.0), {"columns": 640, "rows": 480}),
        "larger sensor": (_in_fog([10, 40], columns=1280, rows=1024, focal_px=1100.0), {"columns": 1280, "rows": 1024}),
        "US units": (_in_fog([10, 20, 40]), {"units": "us"}),
        "four in US units": (_in_fog([10, 20, 30, 40]), {"units": "us"}),
        "long names": (
            _in_fog([10, 20, 30, 40], weather="late autumn fog", camera="north-east boiler house roof corner",
                    gait="flat crawl"),
            {"title": "Invented slipway and laydown yard with a title that goes on until it no longer fits on a line"},
        ),
    }  # fmt: skip
