"""A small site of which every name is given by the test, and its results with everything that a run can store beside them."""

from __future__ import annotations

import json
from collections.abc import Callable

import fencecast as fc
from fencecast.findings.check import review_attrs

KINDS = ("section one", "section two", "gate", "obstacle", "camera one", "camera two", "depends", "sensor", "lens", "mounting",
         "accept reason", "accept by", "land")  # fmt: skip
# Coordinates are far from the origin and odd, so that none of their digits stands anywhere by chance.
EAST, NORTH = 7351.0, 8643.0
QUICK = {"precision": 0.3, "max_crossings": 32}


def quoted(text: str) -> str:
    """A TOML basic string."""
    return json.dumps(text, ensure_ascii=False)


def site_text(name: Callable[[str], str], title: str, classes: tuple[str, str] = ("clear night", "thick fog")) -> str:
    """The site file. name: of a kind of thing (`KINDS`), the text that stands for its name, path or mark."""
    n = {kind: quoted(name(kind)) for kind in KINDS}

    def at(*points: tuple[float, float]) -> str:
        return "[" + ", ".join(f"[{EAST + x}, {NORTH + y}]" for x, y in points) + "]"

    return f"""\
schema = 2
title = {quoted(title)}
seed = 4
[site]
ground = "gravel"
segment_length_m = 4.0
[[perimeter]]
name = {n["section one"]}
points_m = {at((0, 0), (12, 0))}
inside = "left"
gates = [{{ name = {n["gate"]}, from_m = 4.0, to_m = 7.0 }}]
[[perimeter]]
name = {n["section two"]}
points_m = {at((12, 0), (12, 8))}
inside = "left"
[[obstacle]]
name = {n["obstacle"]}
footprint_m = {at((2, 5), (4, 5), (4, 7), (2, 7))}
height_m = 3.0
[sensors.{n["sensor"]}]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50.0
[lenses.{n["lens"]}]
focal_length_mm = 6.0
f_number = 1.0
[[camera]]
mark = {n["camera one"]}
position_m = [{EAST - 14}, {NORTH + 2}]
height_m = 4.0
aim_m = [{EAST + 6}, {NORTH}]
sensor = {n["sensor"]}
lens = {n["lens"]}
depends_on = {n["depends"]}
[[camera]]
mark = {n["camera two"]}
position_m = [{EAST + 10}, {NORTH - 1.5}]
height_m = 4.0
aim_m = [{EAST + 12}, {NORTH + 6}]
sensor = {n["sensor"]}
lens = {n["lens"]}
[[rule]]
kind = "line"
perimeter = {n["section one"]}
cameras = [{n["camera one"]}]
[[rule]]
kind = "line"
perimeter = {n["section two"]}
[[mounting]]
name = {n["mounting"]}
points_m = {at((-6, 2), (18, 2))}
heights_m = [4.0]
spacing_m = 6.0
[[accept]]
check = "not-in-view"
object = {n["section one"]}
reason = {n["accept reason"]}
by = {n["accept by"]}
on = 2026-11-01
[[land]]
name = {n["land"]}
points_m = {at((-40, 20), (-30, 20), (-30, 30), (-40, 30))}
ground = "public"
[[weather]]
name = {quoted(classes[0])}
hours_per_year = 3000
air_temperature_c = 5.0
relative_humidity = 0.75
ground_minus_air_k = -2.0
[[weather]]
name = {quoted(classes[1])}
hours_per_year = 200
air_temperature_c = 7.0
relative_humidity = 0.99
ground_minus_air_k = 0.3
fog = "radiation"
visibility_m = 12.0
sky = "overcast"
"""


def results_of(folder, name: Callable[[str], str], title: str, classes=("clear night", "thick fog")):
    """Results of the site (a Dataset) with losses and what `run` writes into attributes, and a comparison of it."""
    path = folder / "site.toml"
    path.write_text(site_text(name, title, classes), encoding="utf-8")
    site = fc.load_site(path)
    results = fc.lose_each(fc.run(site, **QUICK, command=name("command")), "depends_on", max_crossings=32, site=site)
    words = f"Turn {name('camera one')} by {name('section one')}"
    steps = [
        {
            "words": words,
            "kind": kind,
            "cost": 1400.0,
            "weak_m": before,
            "fence_m": before,
            "most_in": classes[1],
            "most_m": before,
        }
        for kind, before in (("turned", [12.0, 8.0]), ("new", [8.0, 4.0]))
    ]
    results.attrs |= {
        "without": name("camera one"),
        "remedy": words,
        "remedy_worst": classes[1],
        "remedy_steps": json.dumps(steps),
    }
    results.attrs |= review_attrs(fc.check(site), path)
    other = fc.Variant(name("variant"), site.replace(decision={"threshold_sigma": 7.0}))
    compared = fc.compare(fc.Variant(name("base"), site), other, **QUICK)
    return results, compared
