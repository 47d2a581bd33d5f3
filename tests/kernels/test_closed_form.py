"""End to end: one camera, everything fixed, the probability of an alarm worked out by hand in float64 and equal to what `run`
says.

Only the look phase is left to chance; the hand value is its mean over a fine grid of phases. Nothing here uses the package's
formulas: geometry, Planck's law, the air, the heat balance of clothing, the drawn body, noise, chain and curve are written out
once more from the model's text."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from kernel_sites import CAMERA, CORE, FENCE, NIGHT, ONE_PERSON, WIDE, make_site
from scipy.optimize import brentq
from scipy.special import ndtr

import fencecast as fc

# One point of a perimeter: a section so short that every crossing is at the same place.
POINT = {**FENCE, "points_m": [[-0.001, 0.0], [0.001, 0.0]]}
PHASES = (np.arange(60) + 0.5) / 60
STATURE = 1.7
AIR_C, HUMIDITY, GROUND_C, WIND, CLO, CLOTH_E, BARE = 5.0, 0.75, 3.0, 1.0, 1.5, 0.87, 0.25
GROUND_E = 0.98  # grass
PARTS = (
    (0.33, 0.67, 0.00, 0.13),
    (0.06, 0.94, 0.13, 0.53),
    (0.14, 0.86, 0.53, 0.76),
    (0.22, 0.78, 0.76, 1.00),
)
# height, breadth, depth in statures, by gait (run is walk with another depth)
GAITS = {"walk": (1.0, 0.30, 0.28), "run": (1.0, 0.30, 0.40), "crouch": (0.65, 0.30, 0.25)}


@cache
def planck(kelvin, low=8e-6, high=14e-6):
    """Band radiance by the midpoint rule, 4,000 steps (relative error 1e-8)."""
    edges = np.linspace(low, high, 4001)
    w = 0.5 * (edges[1:] + edges[:-1])
    return float(np.sum(1.191042972e-16 / w**5 / np.expm1(1.438776877e-2 / w / kelvin)) * (edges[1] - edges[0]))


def vapour_hpa(celsius):
    return 6.112 * math.exp(17.62 * celsius / (243.12 + celsius))


def clothing_c(speed):
    """Outer temperature of dry clothing: heat through the insulation equals heat to air and surroundings."""
    va, w = min(WIND, 3.0), min(speed, 1.2)
    fcl = 1.0 + 1.97 * 0.155 * CLO
    boundary = 0.092 * math.exp(-0.15 * va - 0.22 * w) - 0.0045
    permeability = 8.0
    calm = 0.155 * CLO + 0.085 / fcl
    icl = calm * (0.54 * math.exp(-0.15 * va - 0.22 * w) * permeability**0.075 - 0.06 * math.log(permeability) + 0.5)
    icl -= boundary / fcl
    skin = 29.0 + 4.0 * (AIR_C + 20.0) / 40.0
    sky = AIR_C + 273.15 - 10.0
    around4 = 0.5 * (GROUND_C + 273.15) ** 4 + 0.5 * sky**4

    def excess(t):
        transfer = max(2.38 * abs(t - AIR_C) ** 0.25, 12.1 * math.sqrt(math.hypot(WIND, speed)))
        lost = transfer * (t - AIR_C) + CLOTH_E * 5.670374419e-8 * ((t + 273.15) ** 4 - around4)
        return (skin - t) / icl - fcl * lost

    return brentq(excess, AIR_C - 30.0, 45.0, xtol=1e-10)


def radiances(speed):
    """Head, clothing, ground, air."""
    sky = planck(AIR_C + 273.15 - 10.0)
    ground = GROUND_E * planck(GROUND_C + 273.15) + (1.0 - GROUND_E) * sky
    around = 0.5 * (ground + sky)
    cloth = CLOTH_E * planck(clothing_c(speed) + 273.15) + (1.0 - CLOTH_E) * around
    transfer = 4.5 + 8.3 * math.hypot(WIND, speed) ** 0.6
    skin_c = AIR_C + (37.0 - AIR_C) / (1.0 + transfer * 0.05)
    skin = 0.98 * planck(skin_c + 273.15) + 0.02 * around
    return BARE * skin + (1.0 - BARE) * cloth, cloth, ground, planck(AIR_C + 273.15)


def tau(distance, fog_per_m):
    rho = 216.68 * HUMIDITY * vapour_hpa(AIR_C) / (AIR_C + 273.15)
    gas = (2.024e-3 + 4.974e-4 * rho**0.7245) * distance**0.5709 + 9.308e-7 * rho**2 * distance
    return math.exp(-gas - fog_per_m * distance)


def covered(count, a, b, s):
    """Share of each of `count` pixels that [a, b) covers after a blur of sd s."""
    x = np.arange(count + 1)
    g = [(x - e) / s * ndtr((x - e) / s) + np.exp(-0.5 * ((x - e) / s) ** 2) / math.sqrt(2.0 * math.pi) for e in (a, b)]
    return np.diff(s * (g[0] - g[1]))


def one_look(case, y, moving):
    """(N, P_look) of the person at (0, y) who walks north, seen from a camera at (cx, cy, h)."""
    cx, cy, h = case["camera"]
    bearing, t = case["bearing"], case["depression"]
    columns, rows, focal = 160, 120, case["focal_mm"] * 1e-3 / 17e-6
    right = np.array([math.cos(bearing), -math.sin(bearing), 0.0])
    ahead = np.array([math.sin(bearing) * math.cos(t), math.cos(bearing) * math.cos(t), -math.sin(t)])
    down = np.cross(ahead, right)

    def picture(point):
        d = np.asarray(point) - (cx, cy, h)
        x, v, z = d @ right, d @ down, d @ ahead
        if case["equidistant"]:
            r = math.hypot(x, v)
            scale = focal * math.atan2(r, z) / r
            return np.array([0.5 * columns + scale * x, 0.5 * rows + scale * v])
        if z <= math.cos(math.radians(89.0)) * math.sqrt(x * x + v * v + z * z):
            return None
        return np.array([0.5 * columns + focal * x / z, 0.5 * rows + focal * v / z])

    tall, breadth, depth = (k * STATURE for k in GAITS[case["gait"]])
    sight = np.array([0.0 - cx, y - cy])
    ground_m = np.hypot(*sight)
    along, across = sight / ground_m, np.array([sight[1], -sight[0]]) / ground_m
    cosine, sine = abs(along[1]), abs(across[1])
    wide, thick = cosine * breadth + sine * depth, sine * breadth + cosine * depth
    foot = np.array([0.0, y])
    corners = [
        picture([*(foot - 0.5 * wide * across), 0.5 * tall]),
        picture([*(foot + 0.5 * wide * across), 0.5 * tall]),
        picture([*(foot - 0.5 * thick * along), 0.0]),
        picture([*(foot + 0.5 * thick * along), tall]),
    ]
    if any(c is None for c in corners):
        return 0.0, 0.0
    u0, u1, v0, v1 = corners[0][0], corners[1][0], corners[3][1], corners[2][1]
    if u1 <= u0 or v1 <= v0:
        return 0.0, 0.0
    step = 1e-4 * case["speed"] * moving
    motion = np.abs(picture([0.0, y + step, 0.5 * tall]) - picture([0.0, y - step, 0.5 * tall])) / 2e-4 * 0.010
    blur_u, blur_v = np.sqrt((0.45 * 10.0 / 17.0) ** 2 + 0.3**2 + motion**2)

    head, cloth, ground, air = radiances(case["speed"])
    slant = math.hypot(ground_m, h - 0.5 * tall)
    near = tau(slant, case["fog_per_m"])
    image = np.zeros((rows, columns))
    share = np.zeros((rows, columns))
    whole = 0.0
    for number, (xa, xb, ya, yb) in enumerate(PARTS):
        target = head if number == 0 else cloth
        z = tall * (1.0 - 0.5 * (ya + yb))
        if z >= h:
            contrast = near * (target - air)
        else:
            contrast = near * (target - ground) + (near - tau(slant * h / (h - z), case["fog_per_m"])) * (ground - air)
        part = np.outer(
            covered(rows, v0 + ya * (v1 - v0), v0 + yb * (v1 - v0), blur_v),
            covered(columns, u0 + xa * (u1 - u0), u0 + xb * (u1 - u0), blur_u),
        )
        image += contrast * part
        share += part
        whole += abs(contrast) * (xb - xa) * (u1 - u0) * (yb - ya) * (v1 - v0)
    v, u = np.mgrid[0:rows, 0:columns] + 0.5
    radius = np.hypot(u - 0.5 * columns, v - 0.5 * rows)
    light = 1.0 if case["equidistant"] else np.cos(np.arctan(radius / focal)) ** 4
    slope = (planck(300.01) - planck(299.99)) / 0.02
    ground_slope = (planck(GROUND_C + 273.16) - planck(GROUND_C + 273.14)) / 0.02
    noise = case["netd_k"] * slope / light
    sigma = np.sqrt(noise**2 * 1.25 + (near * case["clutter_k"] * ground_slope) ** 2)
    asked = (u > math.floor(u0 - 4 * blur_u)) & (u < math.ceil(u1 + 4 * blur_u))
    asked &= (v > math.floor(v0 - 4 * blur_v)) & (v < math.ceil(v1 + 4 * blur_v))
    p = (ndtr(np.abs(image) / sigma - case["threshold"]) * asked).ravel()
    seen = (p.reshape(image.shape) * np.abs(image)).sum() / whole
    chance = np.array([1.0, 0.0, 0.0])
    for each in p[p > 1e-14]:
        chance = np.array([chance[0], chance[1], chance[2]]) * (1.0 - each) + np.array([0.0, chance[0], chance[1]]) * each
    return 0.5 * math.sqrt((u1 - u0) * (v1 - v0) * seen), 1.0 - chance.sum()


def alarm_chance(hits, armed):
    """3 hits in the last 5 looks at an armed look, by a table of all histories."""
    state = {(0, 0, 0, 0): 1.0}
    alarm = 0.0
    for p, listen in zip(hits, armed):
        after = {}
        for history, weight in state.items():
            for hit, chance in ((1, p), (0, 1.0 - p)):
                if chance == 0.0:
                    continue
                if listen and sum(history) + hit >= 3:
                    alarm += weight * chance
                else:
                    key = (*history[1:], hit)
                    after[key] = after.get(key, 0.0) + weight * chance
        state = after
    return alarm


def curve(ratio):
    return ratio ** (2.7 + 0.7 * ratio) / (1.0 + ratio ** (2.7 + 0.7 * ratio))


def pd_by_hand(case):
    """Mean over look phases of the alarm's probability, N_th integrated step by step."""
    arrive, rate, total = 12.0 / case["speed"], 5.0, 0.0
    known = {}
    for phase in PHASES:
        times = (phase + np.arange(math.floor(2 * arrive * rate - phase) + 1)) / rate
        near = (times > arrive - 1.0 - 5.0 / rate) & (times < arrive + 1.0 + 1e-9)
        looks = []
        for time in times[near]:
            y = round(float((time - arrive) * case["speed"]), 12)
            known[y] = known.get(y) or one_look(case, y, 1.0)
            looks.append(known[y])
        armed = np.abs(times[near] - arrive) <= 1.0
        cycles, passing = np.array(looks).T
        before = 0.0
        for level in np.unique(cycles[passing > 0.0])[::-1]:
            now = alarm_chance(np.where(cycles >= level, passing, 0.0), armed)
            if level > 0.0:
                total += (now - before) * curve(level / 2.0)
            before = now
    return total / len(PHASES)


def case_of(**changes):
    case = {
        "camera": (0.0, 17.0, 4.0),
        "bearing": math.pi,
        "depression": math.radians(13.0),
        "focal_mm": 3.0,
        "equidistant": False,
        "gait": "walk",
        "speed": 1.3,
        "netd_k": 0.050,
        "fog_per_m": 0.0,
        "clutter_k": 0.0,
        "threshold": 5.0,
        **changes,
    }
    # Without fog, haze: a tenth of what 20 km of optical range means.
    case["fog_per_m"] += 0.10 * 2.996 / 20000.0
    return case


def site_of(case, extra=None):
    cx, cy, h = case["camera"]
    camera = {**CAMERA, "position_m": [cx, cy], "height_m": h}
    del camera["aim_m"]
    camera |= {"bearing_deg": math.degrees(case["bearing"]), "depression_deg": math.degrees(case["depression"])}
    weather = {
        **NIGHT,
        "air_temperature_c": AIR_C,
        "relative_humidity": HUMIDITY,
        "ground_minus_air_k": GROUND_C - AIR_C,
        "wind_m_s": WIND,
        "clutter_k": case["clutter_k"],
        **(extra or {}),
    }
    projection = "equidistant" if case["equidistant"] else "rectilinear"
    return make_site(
        perimeter=[POINT],
        camera=[camera],
        weather=[weather],
        sensor={**CORE, "netd_mk": 1e3 * case["netd_k"], "netd_spread": 0.0},
        lens={**WIDE, "focal_length_mm": case["focal_mm"], "projection": projection},
        intruder={**ONE_PERSON, "gaits": {case["gait"]: 1.0}, "speed_m_s": {case["gait"]: case["speed"]}},
        decision={"threshold_sigma": case["threshold"]},
        segment_length_m=1.0,
    )


CASES = {
    "a walker in front": case_of(),
    "a walker far off": case_of(camera=(0.0, 33.0, 4.0)),
    "a runner seen from the side, through the corner of the picture": case_of(
        camera=(-22.0, -14.0, 3.0), bearing=math.radians(35.0), depression=math.radians(3.0), gait="run", speed=4.5
    ),
    "a croucher in clutter, equidistant": case_of(
        camera=(3.0, 14.0, 5.0), bearing=math.radians(190.0), equidistant=True, gait="crouch", speed=0.8, clutter_k=1.0
    ),
    "noise near the threshold": case_of(camera=(0.0, 24.0, 4.0), netd_k=0.30),
    "a body cut by the frame": case_of(camera=(0.0, 19.0, 4.0), depression=math.radians(-9.5)),
}


@pytest.mark.parametrize("name", CASES)
def test_pd_by_hand(name):
    """Catches anything wrong anywhere between the site file and the result. Closed form: one camera, everything fixed, worked out
    by hand as above. 1e-3: what the means over look phases, of two thousand crossings and of the hand's 60 phases, can differ by
    (a few 1e-4 were seen), and the 3e-5 of float32."""
    case = CASES[name]
    results = fc.run(site_of(case), precision=0.001, max_crossings=2048, threads=1)
    wanted = pd_by_hand(case)
    assert 0.1 < wanted < 0.99
    assert float(results["pd"].squeeze()) == pytest.approx(wanted, abs=1e-3)


def run_small(case):
    return fc.run(site_of(case), precision=0.01, max_crossings=256, threads=1)


def test_without_noise_nothing_is_washed_out():
    """Catches noise from elsewhere. Limit: NETD of a thousandth of a millikelvin, no clutter: an alarm is as likely as with
    perfect contrast. 2e-3: perfect contrast leaves out pixels that the body covers to less than 1 %; noise of 50 mK washes out
    more."""
    case = CASES["noise near the threshold"]
    loss = {
        netd: float(run_small({**case, "netd_k": netd})["miss_share"].sel(cause="washed out").squeeze()) for netd in (1e-6, 0.3)
    }
    assert loss[1e-6] < 2e-3
    assert loss[0.3] > 0.03


def test_a_threshold_or_noise_out_of_reach():
    """Catches a floor under the probability. Limits: a threshold of 100 sigma, a NETD of 10 K: no alarms (1e-4); what is
    missed is then missed because it is washed out, but for what geometry alone takes."""
    case = CASES["a walker in front"]
    before = run_small(case)
    for changes in ({"threshold": 100.0}, {"netd_k": 10.0}):
        results = run_small({**case, **changes})
        assert float(results["pd"].squeeze()) < 1e-4
        for cause in ("not in view", "too small", "too brief"):
            kept = float(before["miss_share"].sel(cause=cause).squeeze())
            assert float(results["miss_share"].sel(cause=cause).squeeze()) == pytest.approx(kept, abs=2e-3)


def test_an_undemanding_rule_alarms_on_every_sure_look():
    """Catches cycles_50 that is not used, or used upside down. Limit: N50 of a hundredth of a cycle: every resolved look
    counts, and a walker at 20 m on a clear night sets it off for certain; N50 of 100 cycles, of which he fills no five: hardly
    ever, at most as often as the curve says at 5 / 100."""
    for cycles_50, low, high in ((0.01, 1.0 - 1e-6, 1.0), (100.0, 0.0, curve(0.05))):
        site = make_site(
            perimeter=[POINT],
            camera=[{**CAMERA, "position_m": [0.0, 20.0], "aim_m": [0.0, 0.0]}],
            intruder=ONE_PERSON,
            segment_length_m=1.0,
            decision={"cycles_50": cycles_50},
        )
        results = fc.run(site, precision=0.01, max_crossings=64, threads=1)
        assert low <= float(results["pd"].squeeze()) <= high
