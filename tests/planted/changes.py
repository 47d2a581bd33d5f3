"""What is wrong in each planted yard: functions that change the base's tables. One function, one mistake that people make."""

from __future__ import annotations

from typing import Any

from planted.base import Tables, camera, clear, foggy, line, named

# ---------------------------------------------------------------------------------------------- where cameras stand and look


def move(t: Tables, mark: str, x: float, y: float, **other: Any) -> None:
    """Put a camera elsewhere; other keys of it too."""
    named(t, "camera", mark).update(position_m=[x, y], **other)


def aim(t: Tables, mark: str, **other: Any) -> None:
    """Change keys of a camera."""
    named(t, "camera", mark).update(other)


def foot_of_a_mast(t: Tables) -> None:
    """S stands 16 m along the south side and looks east: the ground below and behind it is nobody's."""
    move(t, "S", 16.0, 1.0)


def back_to_back(t: Tables) -> None:
    """Two cameras on one mast in the middle of the south side look away from each other; nobody sees between them."""
    t["camera"] = [row for row in t["camera"] if row["mark"] != "S"]
    t["camera"] += [camera("M1", 20.0, 1.0, 270.0), camera("M2", 20.0, 1.0, 90.0)]


def mast_lost(t: Tables) -> None:
    """S is not there."""
    t["camera"] = [row for row in t["camera"] if row["mark"] != "S"]


def corner_missed(t: Tables) -> None:
    """The south side is watched from its east end, so both cameras at the south-east corner look away from it."""
    move(t, "S", 38.0, 1.0, bearing_deg=270.0)


def turned_round(t: Tables) -> None:
    """S looks west instead of east."""
    aim(t, "S", bearing_deg=270.0)


def over_the_yard(t: Tables) -> None:
    """S looks into the yard, with the fence left of its picture."""
    aim(t, "S", bearing_deg=50.0)


def too_flat(t: Tables) -> None:
    """S is 8 m up and looks nearly at the horizon: its picture begins 16 m off, and W's ends at 12 m."""
    aim(t, "S", height_m=8.0, depression_deg=1.0)


def too_low(t: Tables) -> None:
    """S looks at the ground before its mast: the far fence is above its picture."""
    aim(t, "S", depression_deg=50.0)


def lens_too_long(t: Tables) -> None:
    """S has the 16 mm lens: its picture begins where W's has ended."""
    aim(t, "S", lens="l16", depression_deg=5.5)


def mounting_errors(t: Tables) -> None:
    """Cameras are hung with an error of 6 degrees, and S has a lens that leaves little room: as drawn every metre is in view."""
    t["tolerance"] = {"bearing_deg": 6.0, "depression_deg": 6.0}
    t["lenses"]["l7"] = {"focal_length_mm": 7.0, "f_number": 1.0}
    aim(t, "S", lens="l7", depression_deg=12.0)


# ---------------------------------------------------------------------------------------------- what stands in the way


def stock(t: Tables) -> None:
    """A stack between S, which stands further in, and the south side."""
    move(t, "S", 3.0, 6.0, bearing_deg=99.0)
    t["obstacle"] = [{"name": "pipe stack", "footprint_m": [[10.0, 2.4], [16.0, 2.4], [16.0, 3.6], [10.0, 3.6]], "height_m": 4.0}]


def house_outside(t: Tables) -> None:
    """The south side bends in around a pump house outside, behind which S cannot see."""
    bend = [[0.0, 0.0], [18.0, 4.0], [24.0, 4.0], [27.0, 0.0], [40.0, 0.0]]
    named(t, "perimeter", "south")["points_m"] = bend
    named(t, "rule", "south").update(offset_m=0.5)
    house = [[18.5, -4.0], [23.0, -4.0], [23.0, 3.7], [18.5, 3.7]]
    t["obstacle"] = [{"name": "pump house", "footprint_m": house, "height_m": 6.0}]


def fence_between(t: Tables) -> None:
    """An inner palisade with hardly a gap stands between S and the south side."""
    move(t, "S", 3.0, 6.0, bearing_deg=99.0, height_m=2.6, depression_deg=12.0)
    inner = {"name": "stock fence", "points_m": [[12.0, 2.6], [34.0, 2.6]], "inside": "left", "barrier": "palisade"}
    t["perimeter"].append(inner | {"barrier_height_m": 2.4, "barrier_open_share": 0.05})


def behind_the_wall(t: Tables) -> None:
    """The south side is a wall and its rule arms outside it: whoever comes is hidden until the top."""
    named(t, "perimeter", "south").update(barrier="wall", barrier_height_m=3.2)
    named(t, "rule", "south").update(offset_m=-1.5, time_window_s=0.6)
    aim(t, "S", height_m=3.4, depression_deg=15.0)
    t["intruder"]["climb_s"] = 8.0


def kiosk_inside(t: Tables) -> None:
    """A kiosk on the east side, inside, between E's mast, which stands further in, and the fence."""
    move(t, "E", 32.0, 3.0, bearing_deg=19.0)
    t["obstacle"] = [{"name": "kiosk", "footprint_m": [[35.0, 9.0], [37.6, 9.0], [37.6, 13.0], [35.0, 13.0]], "height_m": 5.0}]


# ---------------------------------------------------------------------------------------------- rules


def deaf_rule(t: Tables) -> None:
    """The rule of the south side hears W alone; S sees it all."""
    named(t, "rule", "south")["cameras"] = ["W"]


def short_line(t: Tables) -> None:
    """The rule line of the south side begins 10 m late."""
    own_line(t, "south", [[10.0, 1.0], [40.0, 1.0]])


def line_in_a_corner(t: Tables) -> None:
    """South and west side are one section, whose line lies 5 m inside and so turns 5 m before the corner."""
    t["perimeter"] = [row for row in t["perimeter"] if row["name"] not in ("south", "west")]
    corner = {"name": "south-west", "points_m": [[0.0, 25.0], [0.0, 0.0], [40.0, 0.0]], "inside": "left"}
    t["perimeter"].append(corner)
    t["rule"] = [line("east"), line("north"), line("south-west", 5.0)]


def gap_at_a_bend(t: Tables) -> None:
    """Two sections meet at a corner that points into the yard; their lines, 3 m inside, leave a gap there."""
    t["perimeter"][0:1] = [
        {"name": "low south", "points_m": [[0.0, 0.0], [20.0, 0.0]], "inside": "left"},
        {"name": "step", "points_m": [[20.0, 0.0], [20.0, 6.0]], "inside": "left"},
        {"name": "high south", "points_m": [[20.0, 6.0], [40.0, 6.0]], "inside": "left"},
    ]
    t["perimeter"][3]["points_m"] = [[40.0, 6.0], [40.0, 25.0]]
    t["rule"] = [line("low south"), line("step", 3.0), line("high south", 3.0), line("east"), line("north"), line("west")]
    move(t, "E", 39.0, 7.0)


def far_camera_only(t: Tables) -> None:
    """The rule of the south side hears a camera at the far end with a short lens; S, which is near, is not heard."""
    t["lenses"]["l1"] = {"focal_length_mm": 1.4, "f_number": 1.0}
    t["camera"].append(camera("F", 41.0, 1.0, 270.0, lens="l1", depression_deg=42.0))
    named(t, "rule", "south")["cameras"] = ["F"]


def window_too_short(t: Tables) -> None:
    """A rule that arms for a tenth of a second each side, with looks twice a second: most crossings meet no armed look."""
    named(t, "rule", "south")["time_window_s"] = 0.1
    t["decision"]["looks_per_s"] = 2.0


# ---------------------------------------------------------------------------------------------- lens, gait, looks


def lens_too_short(t: Tables) -> None:
    """S has the 1.4 mm lens."""
    short_lens(t, "S")


def crawlers(t: Tables) -> None:
    """Half of all crawl flat, and the far end is too far for that with the 3 mm lens of S."""
    t["intruder"]["gaits"] = {"walk": 0.3, "run": 0.2, "flat_crawl": 0.5}
    t["lenses"]["l3"] = {"focal_length_mm": 3.0, "f_number": 1.0}
    aim(t, "S", lens="l3")


def stooped(t: Tables) -> None:
    """Half of all walk stooped, and the shorter lens of S makes them too small at the far end."""
    t["intruder"]["gaits"] = {"walk": 0.5, "crouch": 0.5}
    t["lenses"]["l3"] = {"focal_length_mm": 2.4, "f_number": 1.0}
    aim(t, "S", lens="l3")


def strict_confirmation(t: Tables) -> None:
    """All of the last eight looks must pass, one and a half a second: a runner is through before."""
    t["decision"].update(confirm=[8, 8], looks_per_s=1.5)


def slow_looks(t: Tables) -> None:
    """One look in two seconds, three of five needed; the rule arms for two seconds each side."""
    t["decision"]["looks_per_s"] = 0.5
    for rule in t["rule"]:
        rule["time_window_s"] = 2.5


def narrow_view(t: Tables) -> None:
    """Between two masts only Q's 16 mm lens looks, along the fence: 3 m wide, two and a half looks a second, most run."""
    move(t, "S", 16.0, 1.0)
    t["camera"].append(camera("Q", 1.0, 1.0, 90.0, lens="l16", depression_deg=11.5))
    t["intruder"]["gaits"] = {"walk": 0.4, "run": 0.6}
    t["decision"]["looks_per_s"] = 2.5


# ---------------------------------------------------------------------------------------------- signal and weather


def clutter(t: Tables) -> None:
    """Leaves: 1.2 K of clutter."""
    t["weather"][0]["clutter_k"] = 1.2


def threshold(t: Tables) -> None:
    """The threshold is five times what it should be."""
    t["decision"]["threshold_sigma"] = 45.0


def noisy(t: Tables) -> None:
    """A sensor of 700 mK."""
    t["sensors"]["core"]["netd_mk"] = 700.0


def fog(t: Tables) -> None:
    """Nothing is wrong but the fog between the clear night and the bad class."""
    t["weather"] = [clear(), foggy("thin fog", 50.0), foggy()]


def snow(t: Tables) -> None:
    """A snowstorm: dry window, dry clothing."""
    t["weather"] = [clear(), clear("snowstorm", snow_mm_h=30.0, air_temperature_c=-2.0, sky="overcast"), foggy()]


def drops(t: Tables) -> None:
    """Drizzle that leaves drops on the front window."""
    window = {"state": "drops", "share": 0.92}
    t["weather"] = [clear(), clear("drizzle", rain_mm_h=0.3, front_window=window), foggy()]


def crossover(t: Tables) -> None:
    """A warm evening: the ground is as warm as clothing."""
    warm = {"air_temperature_c": 22.0, "relative_humidity": 0.5, "ground_minus_air_k": 4.0}
    t["weather"] = [clear(), clear("warm dusk", **warm), foggy()]


def wet_clothing(t: Tables) -> None:
    """After rain: clothing is soaked, air and window are clear."""
    wet = {"wetness": 1.0, "wind_m_s": 4.0, "ground_minus_air_k": -1.0, "relative_humidity": 0.6}
    t["weather"] = [clear(), clear("after rain", **wet), foggy()]


# ---------------------------------------------------------------------------------------------- the second fault of a pair


def short_lens(t: Tables, mark: str) -> None:
    """A camera has the 1.4 mm lens."""
    t["lenses"]["l1"] = {"focal_length_mm": 1.4, "f_number": 1.0}
    aim(t, mark, lens="l1")


def own_line(t: Tables, section: str, points: list[list[float]]) -> None:
    """The rule of a section has a line of its own points, the inside on their left."""
    rule = named(t, "rule", section)
    for key in ("perimeter", "offset_m"):
        del rule[key]
    rule["points_m"] = points


def deaf_north(t: Tables) -> None:
    """The rule of the north side hears E alone, which sees its east end."""
    named(t, "rule", "north")["cameras"] = ["E"]


def north_line_short(t: Tables) -> None:
    """The rule line of the north side begins 12 m late."""
    own_line(t, "north", [[28.0, 24.0], [0.0, 24.0]])


def south_line_ends(t: Tables) -> None:
    """The rule line of the south side ends 10 m early."""
    own_line(t, "south", [[0.0, 1.0], [30.0, 1.0]])


def north_over_the_yard(t: Tables) -> None:
    """N looks into the yard."""
    aim(t, "N", bearing_deg=230.0)
