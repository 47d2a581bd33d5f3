"""Results Datasets with INVENTED numbers, only to test pictures with: no simulation, no physics, never a reference.

Each builder returns a Dataset as the results contract describes it, with a valid site file in its attributes. Pd falls with
distance by a made-up curve, the classes scale it, and a fixed stream of noise makes it look rough.
"""

from __future__ import annotations

import hashlib
import math

import numpy as np
import xarray as xr

CAUSES = ("no rule there", "not in view", "too small", "too brief", "washed out")
SIX_CLASSES = (  # name, hours per year, reach of a camera in metres (invented)
    ("clear night", 2650, 46.0),
    ("heavy rain", 640, 38.0),
    ("warm dusk", 420, 31.0),
    ("advection fog", 310, 33.0),
    ("radiation fog", 190, 42.0),
    ("wet snow", 170, 40.0),
)
TWELVE_CLASSES = SIX_CLASSES + (
    ("drizzle", 350, 41.0),
    ("windy night with moving foliage", 280, 36.0),
    ("frost", 500, 47.0),
    ("thaw", 120, 35.0),
    ("haze", 90, 44.0),
    ("thunderstorm", 15, 24.0),
)


def section(name, points, inside="right", closed=False, barrier="mesh", gates=()):
    return {"name": name, "points": points, "inside": inside, "closed": closed, "barrier": barrier, "gates": gates}


def camera(mark, x, y, bearing, lens="wide"):
    return {"mark": mark, "x": x, "y": y, "bearing": bearing, "lens": lens}


def yard_sections():
    return [
        section("West fence", [(0, 0), (0, 70)], gates=[("Gate", 30, 38)]),
        section("North fence along the footpath", [(0, 70), (120, 70), (140, 54)]),
        section("East fence", [(140, 54), (140, 0)]),
        section("Quay edge", [(140, 0), (0, 0)], barrier="none"),
    ]


def yard_cameras():
    return [
        camera("C1", 1, 1, 5),
        camera("C2", 1, 69, 88),
        camera("C3", 58, 68, 92),
        camera("C4", 139, 2, 358),
        camera("C5", 138, 1, 268),
        camera("C6", 70, 2, 272, lens="long"),
    ]


def yard_obstacles():
    return [
        ("Workshop", [(18, 42), (50, 42), (50, 58), (18, 58)], 6.0),
        ("Site office", [(66, 40), (88, 40), (88, 50), (66, 50)], 3.0),
    ]


def yard(**changes):
    """The demo-like yard: four sections, six cameras, six classes."""
    return build("Invented laydown yard", yard_sections(), yard_cameras(), yard_obstacles(), **changes)


def one_camera(**changes):
    """One camera, 30 segments, one straight fence of 80 m."""
    sections = [section("Lane", [(0, 0), (80, 0)], inside="left")]
    changes.setdefault("classes", SIX_CLASSES[:2])
    return build("Invented lane", sections, [camera("C1", 0, 1, 90)], [], segment_length=80 / 30, **changes)


def large(**changes):
    """Twelve cameras with long marks, 600 segments, 1,053 m, five sections with names of up to 56 letters."""
    sections = [
        section("Western boundary beside the disused canal and the towpath", [(0, 0), (0, 180)]),
        section(
            "North fence", [(0, 180), (150, 180), (190, 210), (300, 210)], gates=[("Lorry gate", 40, 52), ("Staff gate", 56, 58)]
        ),
        section("Bend", [(300, 210), (318, 192)]),
        section("Eastern palisade behind the transformer compound", [(318, 192), (318, 20)], barrier="palisade"),
        section("Southern embankment", [(318, 20), (300, 0), (0, 0)], gates=[("Rail gate", 150, 160)]),
    ]
    total = sum(math.dist(a, b) for s in sections for a, b in zip(s["points"], s["points"][1:]))
    scale = 1053 / total
    for s in sections:
        s["points"] = [(round(x * scale, 3), round(y * scale, 3)) for x, y in s["points"]]
        s["gates"] = [(n, a * scale, b * scale) for n, a, b in s["gates"]]
    places = [
        ("gatehouse north", 2, 178, 90),
        ("gatehouse south", 2, 2, 2),
        ("canal bend", 2, 90, 0),
        ("lamp 4", 80, 178, 90),
        ("lamp 5", 148, 178, 60),
        ("mast 6", 200, 208, 90),
        ("mast 7", 298, 207, 140),
        ("transformer", 316, 180, 178),
        ("mast 9", 316, 100, 180),
        ("embankment east", 300, 2, 272),
        ("embankment middle", 200, 2, 270),
        ("embankment west", 100, 2, 270),
    ]
    cameras = [camera(mark, x * scale, y * scale, bearing) for mark, x, y, bearing in places]
    obstacles = [
        ("Transformer compound", [(p * scale, q * scale) for p, q in [(250, 120), (300, 120), (300, 170), (250, 170)]], 5.0),
        ("Store", [(p * scale, q * scale) for p, q in [(60, 60), (76, 60), (76, 70), (60, 70)]], 4.0),
        (
            "Hall with a very long name of its own",
            [(p * scale, q * scale) for p, q in [(100, 90), (190, 90), (190, 130), (100, 130)]],
            9.0,
        ),
    ]
    changes.setdefault("segment_length", 1.7575)
    return build(
        "Invented freight terminal with a long title that goes on for quite a while", sections, cameras, obstacles, **changes
    )


def twelve_classes(**changes):
    return yard(classes=TWELVE_CLASSES, **changes)


def weak_everywhere_in_one_class(**changes):
    return yard(classes=SIX_CLASSES[:5] + (("dense fog", 60, 9.0),), **changes)


def weak_everywhere_in_all(**changes):
    return yard(classes=(("dense fog", 60, 3.0), ("very dense fog", 40, 2.0)), **changes)


def all_meet(**changes):
    return yard(everywhere=0.985, **changes)


def no_weak_some_undecided(**changes):
    return yard(everywhere=0.985, undecided_m=30, **changes)


def class_without_hours(**changes):
    """The worst class has 0 h/yr: it comes last and is never the worst."""
    return yard(classes=SIX_CLASSES + (("dense fog, never here", 0, 12.0),), **changes)


def section_without_data(**changes):
    return yard(no_data=("East fence",), **changes)


def part_without_data(**changes):
    return yard(no_data_stretch=("Quay edge", 58, 72), **changes)


def closed_ring(**changes):
    """One closed section: a place may lie across its own joint."""
    ring = [section("Ring", [(0, 0), (0, 60), (30, 60), (30, 90), (90, 90), (90, 0)], closed=True, gates=[("Gate", 20, 25)])]
    cameras = [camera("C1", 1, 5, 0), camera("C2", 32, 88, 95), camera("C3", 89, 60, 180), camera("C4", 88, 1, 275)]
    return build("Invented ring", ring, cameras, [("Tank", [(40, 20), (60, 20), (60, 40), (40, 40)], 8.0)], **changes)


def short_sections(**changes):
    """Eight sections round a yard, four of them corners of 3 to 4 m: names, numbers and letters have hardly any room."""
    corners = [(3, 0), (0, 3), (0, 57), (3, 60), (87, 60), (90, 57), (90, 3), (87, 0), (3, 0)]
    names = ["corner south west", "West", "corner north west", "North", "corner north east", "East", "corner south east", "South"]
    sections = [section(name, corners[i : i + 2]) for i, name in enumerate(names)]
    cameras = [
        camera("NW", 3, 57, 92),
        camera("NE", 87, 57, 178),
        camera("SE", 87, 3, 272),
        camera("SW", 3, 3, 2),
        camera("M", 45, 58, 90),
    ]
    return build("Invented yard with cut corners", sections, cameras, [], **changes)


def long_fence(**changes):
    """Two kilometres round a flat field, forty cameras 50 m apart, three obstacles that are specks on paper."""
    corners = [(0, 0), (820, 0), (820, 180), (0, 180), (0, 0)]
    names = ["Road side", "East end", "Railway side", "West end"]
    sections = [section(name, corners[i : i + 2], inside="left") for i, name in enumerate(names)]
    sections[0]["gates"] = [("Main gate", 400, 410)]
    cameras = []
    for i in range(40):
        k, along = 0, 50.0 * i + 1.6
        while along > math.dist(corners[k], corners[k + 1]):
            along -= math.dist(corners[k], corners[k + 1])
            k += 1
        (ax, ay), (bx, by) = corners[k], corners[k + 1]
        ux, uy = ((bx - ax) / math.dist((ax, ay), (bx, by)), (by - ay) / math.dist((ax, ay), (bx, by)))
        bearing = math.degrees(math.atan2(ux, uy)) % 360
        cameras.append(camera(f"K{i + 1}", ax + ux * along - uy * 1.5, ay + uy * along + ux * 1.5, bearing))
    obstacles = [
        ("Store", [(100, 150), (112, 150), (112, 158), (100, 158)], 3.0),
        ("Boat", [(700, 20), (708, 20), (708, 24), (700, 24)], 2.0),
        ("Inverter house", [(390, 80), (420, 80), (420, 100), (390, 100)], 4.0),
    ]
    changes.setdefault("classes", SIX_CLASSES[:2])
    return build("Invented long field", sections, cameras, obstacles, segment_length=4.0, **changes)


def tall_fence(**changes):
    """A straight fence of 900 m to the north, with twenty cameras."""
    cameras = [camera(f"M{k}", -1.5, k * 45 + 5, 0) for k in range(20)]
    kiosk = [("Kiosk", [(-20, 300), (-10, 300), (-10, 310), (-20, 310)], 3.0)]
    sections = [section("East road", [(0, 0), (0, 900)], inside="left")]
    return build("Invented road", sections, cameras, kiosk, segment_length=5.0, **changes)


def one_class(**changes):
    return yard(classes=SIX_CLASSES[2:3], **changes)


ALL = {
    "yard": yard,
    "one_camera": one_camera,
    "large": large,
    "twelve_classes": twelve_classes,
    "weak_everywhere_in_one_class": weak_everywhere_in_one_class,
    "weak_everywhere_in_all": weak_everywhere_in_all,
    "all_meet": all_meet,
    "no_weak_some_undecided": no_weak_some_undecided,
    "class_without_hours": class_without_hours,
    "section_without_data": section_without_data,
    "part_without_data": part_without_data,
    "closed_ring": closed_ring,
    "short_sections": short_sections,
    "long_fence": long_fence,
    "tall_fence": tall_fence,
    "one_class": one_class,
    "us_units": lambda: yard(units="us"),
    "us_large": lambda: large(units="us"),
    "requirement_0.99": lambda: yard(requirement=0.99),
    "requirement_0.50": lambda: yard(requirement=0.5),
}


def cut(sections, segment_length):
    """Segments of every section: name, start, end, middle, point, all invented sites being polylines."""
    rows = []
    for s in sections:
        points = [*s["points"], s["points"][0]] if s["closed"] else s["points"]
        edges = [math.dist(a, b) for a, b in zip(points, points[1:])]
        length = sum(edges)
        count = max(1, round(length / segment_length))
        for k in range(count):
            middle = (k + 0.5) * length / count
            rest, i = middle, 0
            while i < len(edges) - 1 and rest > edges[i]:
                rest -= edges[i]
                i += 1
            a, b = points[i], points[i + 1]
            x, y = (a[j] + rest / edges[i] * (b[j] - a[j]) for j in (0, 1))
            rows.append((s["name"], k * length / count, (k + 1) * length / count, middle, x, y))
    return rows


def build(
    title,
    sections,
    cameras,
    obstacles,
    classes=SIX_CLASSES,
    segment_length=2.0,
    requirement=0.90,
    confidence=0.95,
    units="si",
    everywhere=None,
    undecided_m=0,
    no_data=(),
    no_data_stretch=None,
    fresh=False,
):
    """Put one Dataset together from a layout (all numbers invented)."""
    rows = cut(sections, segment_length)
    names = [row[0] for row in rows]
    x, y = np.array([row[4] for row in rows]), np.array([row[5] for row in rows])
    random = np.random.default_rng(20)
    alone = np.zeros((len(cameras), len(classes), len(rows)))
    framed = np.zeros((len(cameras), len(rows)))
    for c, cam in enumerate(cameras):
        distance = np.hypot(x - cam["x"], y - cam["y"])
        bearing = np.degrees(np.arctan2(x - cam["x"], y - cam["y"]))
        off = np.abs((bearing - cam["bearing"] + 180) % 360 - 180)
        framed[c] = (1 / (1 + np.exp((off - 28) / 2.0))) * (1 / (1 + np.exp((4 - distance) / 0.5)))
        for w, (_, _, reach) in enumerate(classes):
            factor = 2.2 * reach * (1.3 if cam["lens"] == "long" else 1.0)
            alone[c, w] = framed[c] * (1 - 1 / (1 + (factor / np.maximum(distance, 1)) ** 5)) * 0.985
    pd = 1 - np.prod(1 - alone, axis=0)
    if everywhere is not None:
        pd = np.full_like(pd, everywhere)
    pd = np.clip(pd + random.normal(0, 0.006, pd.shape), 0.0, 1.0)
    half = 0.012 + 0.04 * np.sqrt(pd * (1 - pd)) / 0.5
    if undecided_m:
        pd[0, : int(undecided_m / segment_length)] = requirement + 0.005
    missing = np.array([name in no_data for name in names])
    if no_data_stretch:
        name, start, end = no_data_stretch
        missing |= np.array([row[0] == name and start <= row[3] <= end for row in rows])
    pd[:, missing] = np.nan
    alone[:, :, missing] = np.nan
    low, high = np.clip(pd - half, 0, 1), np.clip(pd + half, 0, 1)
    share = _shares(pd, framed, classes)
    hours = np.array([c[1] for c in classes], dtype=float)
    weights = hours / hours.sum() if hours.sum() else np.full(len(hours), np.nan)
    counted = np.flatnonzero(hours > 0)
    worst = counted[np.argmin(np.where(np.isnan(pd), 9, pd)[counted], axis=0)]
    pick = (worst, np.arange(len(rows)))
    verdict = np.where(
        np.isnan(pd), "no data", np.where(high < requirement, "weak", np.where(low > requirement, "meets", "undecided"))
    )
    per_cell, per_segment = ("weather", "segment"), ("segment",)
    year_half = np.sqrt((weights[:, None] ** 2 * half**2).sum(axis=0))
    year = (weights[:, None] * pd).sum(axis=0)
    distances = np.arange(2.0, 92.0, 2.0)
    curve = np.stack([[1 / (1 + (d / (c[2] * k)) ** 3) for d in distances] for c in classes for k in (1.0, 1.6)])
    curve = curve.reshape(len(classes), 2, len(distances))
    toml = site_toml(title, sections, cameras, obstacles, classes, segment_length, requirement, confidence, units)
    fresh_pd = np.full_like(pd, np.nan)
    if fresh:
        fresh_pd[pick[0][np.nanargmin(pd[pick])], np.nanargmin(pd[pick])] = np.nanmin(pd[pick]) + 0.03
    data = {
        "pd": (per_cell, pd),
        "pd_low": (per_cell, low),
        "pd_high": (per_cell, high),
        "pd_camera": (("camera", *per_cell), alone),
        "miss_share": (("cause", *per_cell), np.concatenate([np.zeros_like(share[:1]), share])),
        "alarm_depth_m": (per_cell, np.where(np.isnan(pd), np.nan, 0.2)),
        "alarm_delay_s": (per_cell, np.where(np.isnan(pd), np.nan, 0.1)),
        "crossings": (per_cell, np.where(np.isnan(pd), 0, 1024)),
        "verdict": (per_cell, verdict.astype(str)),
        "pd_year": (per_segment, year),
        "pd_year_low": (per_segment, np.clip(year - year_half, 0, 1)),
        "pd_year_high": (per_segment, np.clip(year + year_half, 0, 1)),
        "pd_worst": (per_segment, pd[pick]),
        "pd_worst_low": (per_segment, low[pick]),
        "pd_worst_high": (per_segment, high[pick]),
        "worst_weather": (per_segment, np.array([classes[i][0] for i in worst])),
        "pd_distance": (("weather", "lens", "distance"), curve),
        "pd_distance_low": (("weather", "lens", "distance"), np.clip(curve - 0.03, 0, 1)),
        "pd_distance_high": (("weather", "lens", "distance"), np.clip(curve + 0.03, 0, 1)),
        "pd_fresh": (per_cell, fresh_pd),
        "pd_fresh_low": (per_cell, fresh_pd - 0.02),
        "pd_fresh_high": (per_cell, fresh_pd + 0.02),
        "dpd_dln_n50": (("weather",), -0.20 + 0.02 * np.arange(len(classes))),
        "dpd_dln_netd": (("weather",), -0.01 * np.arange(len(classes))),
        "dpd_dln_threshold": (("weather",), -0.02 * np.arange(len(classes))),
        "dpd_dln_clutter": (("weather",), -0.03 * np.arange(len(classes))),
        "noise_alarms_per_day": (("camera",), np.linspace(3e-7, 0.004, len(cameras))),
    }
    coords = {
        "weather": [c[0] for c in classes],
        "weather_hours": (("weather",), hours),
        "camera": [c["mark"] for c in cameras],
        "section": (per_segment, np.array(names)),
        "chainage_m": (per_segment, np.array([row[3] for row in rows])),
        "segment_start_m": (per_segment, np.array([row[1] for row in rows])),
        "segment_end_m": (per_segment, np.array([row[2] for row in rows])),
        "x_m": (per_segment, x),
        "y_m": (per_segment, y),
        "cause": list(CAUSES),
        "lens": ["wide", "long"],
        "distance": distances,
    }
    attrs = {
        "title": title,
        "schema": 2,
        "version": "0.1.0",
        "seed": 7,
        "site_toml": toml,
        "site_sha256": hashlib.sha256(toml.encode()).hexdigest(),
        "command": "fencecast run invented.toml",
        "created": "2026-11-14T10:00:00Z",
        "confidence": confidence,
        "requirement_pd": requirement,
        "encounter_correlation": 0.5,
        "caution": "Planning aid: a prediction, not a proof and not life safety. Only tests on the finished site are proof.",
        "not_modelled": "\n".join(
            [
                "A human-observer resolution law stands in for analytics until walk tests calibrate it.",
                "Encounter correlation between cameras is a judgement.",
                "Fog drop size is uncertain.",
                "Window water is crude.",
                "Off-axis blur is constant.",
                "Obstacles behind the target have air temperature.",
                "No reflections in wet ground.",
                "The intruder does not tamper with cameras.",
                "The ground is flat.",
                "No vehicles, insiders or cyber.",
            ]
        ),
        "crossings_total": 1024 * int((~np.isnan(pd)).sum()),
        "looks_total": 10_000_000,
        "seconds": 9.5,
        "units": units,
    }
    return xr.Dataset(data, coords, attrs)


def _shares(pd, framed, classes):
    """Miss shares that add up to 1 - pd: out of frame first, then what a clear night loses, then the rest."""
    miss = 1 - pd
    unseen = np.prod(1 - framed, axis=0)
    clear = max(range(len(classes)), key=lambda i: classes[i][2])
    not_in_view = np.minimum(unseen[None, :], miss)
    rest = miss - not_in_view
    brief = 0.15 * rest
    small = np.minimum(0.85 * rest, np.maximum(miss[clear] - not_in_view[clear], 0)[None, :])
    return np.stack([not_in_view, small, brief, miss - not_in_view - small - brief])


def _points(points):
    return "[" + ", ".join(f"[{float(px)}, {float(py)}]" for px, py in points) + "]"


def site_toml(title, sections, cameras, obstacles, classes, segment_length, requirement, confidence, units):
    """A site file for the layout."""
    lines = ["# Invented, to test pictures with.", "schema = 2", f'title = "{title}"', "seed = 7", f'units = "{units}"', ""]
    lines += ["[requirement]", f"pd = {requirement}", f"confidence = {confidence}", ""]
    lines += ["[site]", 'ground = "gravel"', f"segment_length_m = {segment_length!r}", ""]
    for s in sections:
        gates = ", ".join(f'{{ name = "{n}", from_m = {float(a)}, to_m = {float(b)} }}' for n, a, b in s["gates"])
        lines += ["[[perimeter]]", f'name = "{s["name"]}"', f"points_m = {_points(s['points'])}", f'inside = "{s["inside"]}"']
        lines += [f"closed = {str(s['closed']).lower()}", f'barrier = "{s["barrier"]}"', f"gates = [{gates}]", ""]
    for name, points, height in obstacles:
        lines += ["[[obstacle]]", f'name = "{name}"', f"footprint_m = {_points(points)}", f"height_m = {height}", ""]
    lines += ["[sensors.core]", "columns = 160", "rows = 120", "pitch_um = 17.0", "netd_mk = 50.0", ""]
    for name, focal in (("wide", 3.0), ("long", 6.0)):
        lines += [f"[lenses.{name}]", f"focal_length_mm = {focal}", "f_number = 1.0", ""]
    for c in cameras:
        lines += ["[[camera]]", f'mark = "{c["mark"]}"', f"position_m = [{float(c['x'])}, {float(c['y'])}]", "height_m = 4.0"]
        lines += [f"bearing_deg = {float(c['bearing'])}", "depression_deg = 12.0", 'sensor = "core"', f'lens = "{c["lens"]}"', ""]
    for s in sections:
        lines += ["[[rule]]", 'kind = "line"', f'perimeter = "{s["name"]}"', ""]
    for name, hours, _ in classes:
        lines += ["[[weather]]", f'name = "{name}"', f"hours_per_year = {hours}", "air_temperature_c = 5.0"]
        lines += ["relative_humidity = 0.8", "ground_minus_air_k = -1.0", ""]
    return "\n".join(lines)
