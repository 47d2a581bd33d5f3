"""A pair of sites for every check: one on which it fires, with the number that must come out, and one on which it is silent.

Numbers come from the geometry of the base site by hand or from the design of the checks, not from the code: the lower edge of
the base cameras is 22.648 degrees down, so feet are in view from 9.587 m, a waist from 7.190 m and a head from 5.273 m.
"""

import copy
import datetime
from typing import NamedTuple

from review.yards import CLASSES, LINE, A, B, alone, base, box, camera, fence

GROUND = {"ground": "gravel", "latitude": 54.0, "longitude": 4.0}
C = camera("C", [20.0, 1.5], 268.5)


class Pair(NamedTuple):
    """fires() and silent() make sites; severity, object and value of what is found; within: of the value."""

    id: str
    fires: object
    severity: str
    object: str
    value: float
    silent: object
    within: float = 0.0


def ring(x0, x1, y1=20.0, **more):
    """The fence from x0 to x1, closed by a line without a barrier."""
    return [fence(((x0, 0), (x1, 0)), **more), fence(((x1, 0), (x1, y1), (x0, y1), (x0, 0)), "rest", barrier="none")]


def area(depth, **more):
    return {"kind": "area", "points_m": [[0, 0], [30, 0], [30, depth], [0, depth], [0, 0]]} | more


def weathers(**changes):
    """The four classes with changes by name ("_" for a blank), None takes a class away."""
    found = []
    for each in copy.deepcopy(CLASSES):
        change = changes.get(each["name"].replace(" ", "_"), {})
        if change is not None:
            found.append(each | change)
    return found


def along(offset, **more):
    return {"kind": "line", "perimeter": "fence", "offset_m": offset} | more


def text_with_marks():
    """A site from a text, with two values still to be checked and a comment that only mentions the mark."""
    import fencecast as fc

    text = base().text
    text = text.replace("pd = 0.9", "pd = 0.9 # check this").replace("columns = 160", "columns = 160 # Check this: data sheet")
    return fc.parse_site("# values that say check this\n" + text)


NO_FENCE = [A, B, camera("C", [15.0, 8.0], 0.0)]
TWO = [fence(), fence(((0.0, 20.0), (9.0, 20.0)), "second")]
GATE = {"gates": [{"name": "gate", "from_m": 8.0, "to_m": 13.0}]}
EAST = {"depends_on": "east"}
MOUNT = {"name": "mast", "points_m": [[70.0, 5.0]], "heights_m": [4.0]}
GARDEN = {"name": "garden", "points_m": [[10, -6], [14, -6], [14, -2], [10, -2]], "ground": "private"}
FEET = [fence(), fence(((30.0 / 0.3048, 0.0), (30.0 / 0.3048, 20.0 / 0.3048)), "side")]

PAIRS = [
    Pair("no-rule", lambda: base(sections=TWO, rules=[along(0.5)]), "stop", "second", 9.0, base),
    Pair("idle-camera", lambda: base(rules=[LINE | {"cameras": ["A"]}]), "warn", "camera B", 0.0, base),
    Pair("misses-rule", lambda: base(rules=[LINE | {"points_m": [[-3, 0.5], [20, 0.5]]}]), "stop", "fence", 10.0, base),
    Pair("line-end", lambda: base(rules=[along(1.5)]), "warn", "fence", 4 / 11, lambda: base(rules=[along(0.0)]), 1e-9),
    Pair(
        "sections-apart",
        lambda: base(sections=[fence(), fence(((30, 4), (30, 20)), "side")]),
        "warn",
        "gap fence to side",
        4.0,
        lambda: base(sections=[fence(), fence(((30, 0.4), (30, 20)), "side")]),
    ),
    Pair("sees-no-fence", lambda: base(cameras=NO_FENCE), "stop", "camera C", 0.0, base),
    Pair("under-mast", lambda: alone(position_m=[0.0, 1.5]), "stop", "camera A", 7.0, base),
    Pair(
        "hidden",
        lambda: base(
            obstacles=[box(10, 0.6, 20, 3, 3.0)],
            a={"position_m": [-5, 6], "bearing_deg": 100.0},
            b={"position_m": [35, 6], "bearing_deg": 260.0},
        ),
        "stop",
        "obstacle stack",
        25.0,
        lambda: base(obstacles=[box(10, 5, 20, 8, 3.0)]),
    ),
    Pair(
        "corner-wedge",
        lambda: alone(position_m=[0.0, 20.0], bearing_deg=140.0, depression_deg=15.0),
        "stop",
        "fence",
        4.5,
        base,
    ),
    Pair(
        "not-in-view",
        lambda: alone(position_m=[2.0, 12.0], bearing_deg=170.0, depression_deg=20.0),
        "stop",
        "fence",
        23.0,
        base,
    ),
    Pair("feet-unseen", lambda: alone(position_m=[-8.0, 1.5]), "warn", "fence", 1.5, base),
    # Waist blind to 7.2 m, but from 5.3 m on the camera itself makes out whoever climbs: his head shows.
    Pair(
        "no-partner",
        lambda: base(a={"position_m": [0.0, 1.5]}, b={"lens": "wide", "depression_deg": 16.0}),
        "warn",
        "camera A",
        5.0,
        base,
    ),
    Pair(
        "not-heard",
        lambda: base(
            rules=[
                {"kind": "line", "points_m": [[-3, 0.5], [24, 0.5]], "cameras": ["A"]},
                {"kind": "line", "points_m": [[24, 0.5], [33, 0.5]], "cameras": ["B"]},
            ],
            b={"position_m": [31.0, 1.5]},
        ),
        "warn",
        "camera A in rule 2",
        2.0,
        base,
        4.0,
    ),
    Pair(
        "gate",
        lambda: base(cameras=[A], sections=[fence(**GATE)]),
        "note",
        "gate gate",
        1.0,
        lambda: base(sections=[fence(gates=[{"name": "gate", "from_m": 12.0, "to_m": 17.0}])]),
    ),
    Pair("one-camera", lambda: alone(position_m=[-8.0, 1.5]), "note", "the site", 30.0, base),
    Pair(
        "resolution",
        lambda: base(a={"position_m": [-25.0, 1.5], "lens": "wide"}, b={"position_m": [55.0, 1.5], "lens": "wide"}),
        "stop",
        "fence",
        0.735,
        base,
        0.01,
    ),
    Pair(
        "gait-far",
        lambda: base(a={"position_m": [-1.0, 1.5]}, decision={"cycles_50": 2.3}),
        "warn",
        "gait crouch",
        4.0,
        lambda: base(a={"position_m": [-1.0, 1.5]}),
        0.5,
    ),
    # (60 - 352.94 tan 6 degrees) / 120, and with 7 degrees 0.1389.
    Pair(
        "sky", lambda: base(a={"depression_deg": 6.0}), "warn", "camera A", 0.1909, lambda: base(a={"depression_deg": 7.0}), 1e-4
    ),
    Pair(
        "sun",
        lambda: base(a={"depression_deg": 5.0}, site=GROUND),
        "note",
        "camera A",
        40.5,
        lambda: base(site=GROUND),
        1.0,
    ),
    Pair("over-horizon", lambda: base(a={"depression_deg": -10.0}), "stop", "camera A", 0.352, base, 1e-3),
    Pair("head-cut", lambda: alone(position_m=[-8.0, 1.5], depression_deg=14.0), "warn", "camera A", 9.0, base),
    Pair("edge-of-frame", lambda: alone(bearing_deg=80.5), "warn", "fence", 18.5, base),
    Pair(
        "noise-alarms",
        lambda: base(decision={"threshold_sigma": 2.8}),
        "warn",
        "camera A, B",
        0.1837,
        lambda: base(decision={"threshold_sigma": 3.0}),
        1e-4,
    ),
    # 320 columns of 17 um on 3 mm: 2 atan(2.72 / 3) = 84.40 degrees rectilinear, 103.9 equidistant.
    Pair(
        "stated-field",
        lambda: base(**wide_sensor(103.9)),
        "stop",
        "lens wide on core",
        19.50,
        lambda: base(**wide_sensor(84.0)),
        0.01,
    ),
    Pair(
        "dwell",
        lambda: base(cameras=[A], sections=[fence(barrier="none")], decision={"looks_per_s": 3.0}),
        "stop",
        "fence",
        0.0,
        lambda: base(cameras=[A], sections=[fence(barrier="none")]),
    ),
    # 2 m at 4.5 + 1.645 m/s; 6 m take 0.976 s, and three looks 0.6 s.
    Pair("area-thin", lambda: base(rules=[area(2.0)]), "stop", "rule 1", 0.3254, lambda: base(rules=[area(6.0)]), 1e-3),
    Pair(
        "dwell-too-long",
        lambda: base(rules=[area(6.0, dwell_s=2.0)]),
        "stop",
        "rule 1",
        2.0,
        lambda: base(rules=[area(6.0, dwell_s=0.5)]),
    ),
    Pair(
        "inside-reversed",
        lambda: base(a={"position_m": [2.0, 1.5]}, b={"position_m": [28.0, 1.5]}, sections=[fence(inside="right")]),
        "warn",
        "fence",
        0.0,
        lambda: base(a={"position_m": [2.0, 1.5]}),
    ),
    Pair("rule-outside", lambda: base(rules=[along(-1.0)]), "warn", "rule 1", -1.0, lambda: base(rules=[along(1.0)])),
    # Two metres of an area 36 m long lie outside.
    Pair(
        "area-outside",
        lambda: base(sections=ring(-6, 36), rules=[LINE, outside_area(-2.0)]),
        "stop",
        "rule 2",
        72.0,
        lambda: base(sections=ring(-6, 36), rules=[LINE, outside_area(0.0)]),
        1e-6,
    ),
    Pair("rule-deep", lambda: base(rules=[along(6.0)]), "warn", "rule 1", 6.0, lambda: base(rules=[along(5.0)])),
    Pair(
        "roof-route",
        lambda: base(obstacles=[box(10, 0.2, 14, 3, 3.0)]),
        "stop",
        "obstacle stack",
        0.2,
        lambda: base(obstacles=[box(10, 9.5, 14, 12, 3.0)]),
        1e-9,
    ),
    Pair(
        "climbing-aid",
        lambda: base(obstacles=[box(10, 1.2, 14, 3, 1.3)]),
        "warn",
        "obstacle stack",
        1.2,
        lambda: base(obstacles=[box(10, 1.6, 14, 3, 1.3)]),
        1e-9,
    ),
    Pair(
        "clear-zone",
        lambda: base(obstacles=[box(10, 5, 14, 8, 1.0)]),
        "note",
        "the site",
        5.0,
        lambda: base(obstacles=[box(10, 9.5, 14, 12, 1.0)]),
        1e-9,
    ),
    # The hall is 0.1 m north of the lens: rays with a bearing below 87.9 degrees meet it; 25 of 41 between 72.2 and 97.8.
    Pair(
        "own-wall",
        lambda: base(a={"bearing_deg": 85.0}, obstacles=[box(-30, 1.6, 30, 12, 6.0)]),
        "warn",
        "camera A",
        25 / 41,
        base,
        1e-9,
    ),
    # Behind it from A lies x > 18.75, of which B has what lies beyond 27.81 in its blind ground; the same from the other side.
    Pair(
        "moveable",
        lambda: base(obstacles=[box(14, 0.7, 16, 1.4, 0.5, moveable=True, most_height_m=6.0)]),
        "warn",
        "obstacle stack",
        4.0,
        lambda: base(obstacles=[box(14, 0.7, 16, 1.4, 0.5, moveable=True, most_height_m=0.6)]),
    ),
    Pair("dependence-loss", lambda: base(a={"depends_on": "west"}), "stop", "dependence west", 1.0, base),
    # A and C, both on "east", resolve what lies before C: from 14.7 m, where a head comes into its picture, down to 0.
    Pair(
        "same-dependence",
        lambda: base(cameras=[A, C | EAST, camera("D", [25.0, 10.0], 90.0, depends_on="west")]),
        "warn",
        "dependence east",
        14.7,
        base,
        0.5,
    ),
    Pair(
        "camera-outside", lambda: base(sections=ring(0, 30)), "warn", "camera A", 5.0, lambda: base(sections=ring(-6, 36)), 1e-9
    ),
    Pair("tolerance-zero", lambda: base(tolerance={}), "warn", "the site", 0.0, base),
    Pair(
        "aim-opens-gap",
        lambda: base(
            a={"position_m": [-2.0, 1.5], "depression_deg": 15.0},
            b={"position_m": [32.0, 1.5], "depression_deg": 15.0},
            tolerance={"bearing_deg": 0.5, "depression_deg": 1.0, "height_m": 0.05},
        ),
        "warn",
        "camera A",
        2.5,
        base,
    ),
    # 3.2 m at 34.764 m: 3.2 / tan(5.2592 - 1 degrees) - 34.764.
    Pair(
        "metres-per-degree",
        lambda: base(a={"height_m": 3.2}, b={"height_m": 3.2}),
        "note",
        "the site",
        8.204,
        lambda: base(a={"height_m": 6.0}, b={"height_m": 6.0}),
        1e-3,
    ),
    Pair("low-mount", lambda: base(a={"height_m": 2.5}), "warn", "camera A", 2.5, base),
    Pair("sway", lambda: base(a={"sway_deg": 0.2}), "warn", "camera A", 1.232, lambda: base(a={"sway_deg": 0.1}), 1e-3),
    Pair("no-fog", lambda: base(weather=weathers(fog=None)), "warn", "the site", 0.0, base),
    Pair("no-rain", lambda: base(weather=weathers(rain=None)), "warn", "the site", 0.0, base),
    Pair("no-crossover", lambda: base(weather=weathers(warm_dusk=None)), "warn", "the site", 0.0, base),
    Pair("rain-but-dry", lambda: base(weather=weathers(rain={"wetness": 0.0})), "warn", "weather rain", 4.0, base),
    Pair("fog-one-value", lambda: base(weather=weathers(fog={"visibility_m": 120.0})), "warn", "weather fog", 1.0, base),
    Pair("odd-class", lambda: base(weather=weathers(fog={"relative_humidity": 0.8})), "warn", "weather fog", 0.8, base),
    # ln 0.05 / ln 0.97 = 98.4; ninety-nine walks of each of five gaits.
    Pair("proof-size", lambda: base(requirement={"pd": 0.97}), "warn", "the site", 99.0, base),
    Pair("requirement-default", lambda: base(requirement={}), "note", "the site", 0.9, base),
    Pair("intruders", lambda: base(intruder={"gaits": {"walk": 0.7, "run": 0.3}}), "warn", "the site", 0.0, base),
    Pair("independent", lambda: base(decision={"encounter_correlation": 0.0}), "warn", "the site", 0.0, base),
    Pair("long-segments", lambda: base(site={"ground": "gravel", "segment_length_m": 5.0}), "warn", "the site", 5.0, base),
    Pair("overspill", lambda: base(sections=ring(-6, 36)), "note", "the site", 320.0, base, 12.0),
    Pair(
        "land-in-view",
        lambda: base(land=[GARDEN]),
        "warn",
        "land garden",
        9.6,
        lambda: base(land=[GARDEN | {"ground": "own"}]),
        0.5,
    ),
    Pair("check-this", text_with_marks, "warn", "the site", 2.0, base),
    Pair("feet-for-metres", lambda: base(sections=FEET), "warn", "side", 3.2808, lambda: base(sections=ring(0, 30)), 1e-3),
    Pair(
        "outside-yard",
        lambda: base(sections=ring(-6, 36), mounting=[MOUNT]),
        "warn",
        "mounting mast",
        34.0,
        lambda: base(sections=ring(-6, 36), mounting=[MOUNT | {"points_m": [[20.0, 5.0]]}]),
    ),
    Pair(
        "passers-near-line",
        lambda: base(rules=[along(0.0)], stimulus=[{"kind": "people", "per_night": 6.0, "offset_m": 0.0}]),
        "warn",
        "fence",
        30.0,
        lambda: base(stimulus=[{"kind": "people", "per_night": 6.0, "offset_m": -3.0}]),
        1.0,
    ),
    Pair(
        "size-gate-low",
        lambda: base(decision={"size_gate": [0.45, 0.0]}),
        "warn",
        "the site",
        0.45,
        lambda: base(decision={"size_gate": [0.40, 0.0]}),
    ),
    Pair(
        "never-on-ground",
        lambda: base(stimulus=[{"kind": "bat", "base_m": 4.5}]),
        "warn",
        "stimulus bat",
        4.5,
        lambda: base(stimulus=[{"kind": "bat"}]),
    ),
    Pair(
        "source-unseen",
        lambda: base(stimulus=[{"kind": "vent", "at": {"points_m": [[15.0, 30.0]]}}]),
        "warn",
        "stimulus vent",
        0.0,
        lambda: base(stimulus=[{"kind": "vent", "at": {"points_m": [[15.0, 0.5]]}}]),
    ),
]
# Asked with records, on sites of their own.
WITH_RECORDS = ("record-gaps", "record-no-fog", "record-short", "record-far", "place-contradicts")
TODAY = datetime.date(2026, 11, 29)


def wide_sensor(stated):
    return {
        "sensors": {"core": {"columns": 320, "rows": 240, "pitch_um": 17.0, "netd_mk": 50.0}},
        "lenses": {
            "long": {"focal_length_mm": 12.0, "f_number": 1.0},
            "wide": {"focal_length_mm": 3.0, "f_number": 1.0, "stated_field_deg": stated},
        },
        "a": {"lens": "wide"},
    }


def outside_area(low):
    return {"kind": "area", "points_m": [[-3, low], [33, low], [33, 8], [-3, 8], [-3, low]]}
