"""Checks across keys and tables, on whatever could be read, so that one report shows as much as possible.

A key that could have no effect where it stands is refused, like a key that does not exist: the user meant something by it.
"""

from __future__ import annotations

import math

from fencecast.errors import Problem, close_match, name_list, show_value
from fencecast.site.calibration import check_calibration
from fencecast.site.hourlychecks import check_hourly
from fencecast.site.placing import check_placing
from fencecast.site.reading import Draft, Entry
from fencecast.site.review import check_review
from fencecast.site.shapes import check_shapes
from fencecast.site.stimuluschecks import check_stimuli

MOST_HOURS = 8784
_SHARES_TOLERANCE = 1e-6
# Where a rectilinear lens ends: points 89 degrees or more off its axis are not mapped.
_RECTILINEAR_LIMIT_DEG = 178.0
_EQUIDISTANT_LIMIT_DEG = 360.0
_OWN_FOOT_M = 0.001
_ONE_NAME = ("sensor", "lens", "perimeter")


def check_tables(draft: Draft) -> None:
    """Adds a problem to `draft` for everything that does not fit together."""
    for name in ("perimeter", "obstacle", "camera", "weather", "mounting", "variant", "land", "item"):
        _unique(draft, name, "mark" if name == "camera" else "name")
    for entry in draft.repeated["perimeter"]:
        _barrier(draft, entry)
    check_shapes(draft)
    _frame_rates(draft)
    for entry in draft.repeated["camera"]:
        _aim(draft, entry)
        _known(draft, entry, "sensor", entry.table.sensor, "sensors")
        _known(draft, entry, "lens", entry.table.lens, "lenses")
    _fields_of_view(draft)
    for entry in draft.repeated["rule"]:
        _rule(draft, entry)
    _intruder(draft)
    _kit(draft)
    for entry in draft.repeated["weather"]:
        _weather(draft, entry)
    _hours(draft)
    check_hourly(draft)
    check_review(draft)
    check_placing(draft)
    check_stimuli(draft)
    check_calibration(draft)


def _unique(draft: Draft, table: str, key: str) -> None:
    seen: dict[str, Entry] = {}
    for number, entry in enumerate(draft.repeated[table], start=1):
        if entry.name is None:
            continue
        if entry.name in seen:
            allowed = f"a {key} that no other [[{table}]] has; it names table number {seen[entry.name]} already"
            draft.refuse(f"{entry.where} {key}", entry.name, allowed)
        seen.setdefault(entry.name, number)


def _known(draft: Draft, entry: Entry, key: str, name: str | None, table: str, one: str | None = None) -> None:
    names, complete = draft.names(table)
    if name is None or name in names or not complete or not names:
        return
    near = close_match(name, names)
    hint = f"did you mean {show_value(near)}? " if near else ""
    draft.refuse(
        f"{entry.where} {key}",
        name,
        f"{hint}a name from {one or f'[{table}.NAME]'}: {name_list(names)}",
        f"{key} = {show_value(near or names[0])}" if key in _ONE_NAME else f"{key} = [{show_value(near or names[0])}]",
    )


def _barrier(draft: Draft, entry: Entry) -> None:
    table = entry.table
    if table.barrier == "none":
        for key in ("barrier_height_m", "barrier_open_share"):
            if key in entry.given:
                allowed = 'only with a barrier ("mesh", "palisade" or "wall"); leave it out, or name the barrier'
                draft.refuse(f"{entry.where} {key}", getattr(table, key), allowed, 'barrier = "mesh"')
    elif table.barrier == "wall" and table.barrier_open_share:
        allowed = 'only with "mesh" or "palisade": a wall hides what is behind it; leave it out, or choose another barrier'
        draft.refuse(f"{entry.where} barrier_open_share", table.barrier_open_share, allowed, 'barrier = "palisade"')


def _frame_rates(draft: Draft) -> None:
    decision = draft.single["decision"]
    looks = decision and decision.table.looks_per_s
    for entry in draft.keyed["sensors"].values():
        rate = entry.table.frame_rate_hz
        if looks and rate and rate < looks:
            draft.refuse(
                f"{entry.where} frame_rate_hz",
                rate,
                f"at least the {looks!r} looks per second of [decision]",
                f"frame_rate_hz = {looks!r}",
            )


def _aim(draft: Draft, entry: Entry) -> None:
    table, given = entry.table, entry.given
    angles = [key for key in ("bearing_deg", "depression_deg") if key in given]
    if "aim_m" in given and angles:
        allowed = f"either aim_m, or bearing_deg and depression_deg, not both; leave out {' and '.join(angles)}, or aim_m"
        draft.refuse(f"{entry.where} aim_m", table.aim_m, allowed)
    elif "aim_m" not in given and len(angles) < 2:
        missing = "bearing_deg" if "bearing_deg" not in given else "depression_deg"
        allowed = "a camera needs bearing_deg and depression_deg, or aim_m = [x, y]: the point on the ground that it looks at"
        example = "bearing_deg = 90.0" if missing == "bearing_deg" else "depression_deg = 14.0"
        draft.refuse(f"{entry.where} {missing}", Problem.MISSING, allowed, example)
    elif table.aim_m is not None and table.position_m is not None and math.dist(table.aim_m, table.position_m) < _OWN_FOOT_M:
        x, y = table.position_m
        allowed = "a point other than the camera's own foot: straight down has no bearing; give bearing_deg and depression_deg"
        draft.refuse(f"{entry.where} aim_m", table.aim_m, allowed, f"aim_m = {show_value([x + 15.0, y])}")


def _fields_of_view(draft: Draft) -> None:
    seen = set()
    for entry in draft.repeated["camera"]:
        pair = (entry.table.sensor, entry.table.lens)
        sensor, lens = draft.keyed["sensors"].get(pair[0]), draft.keyed["lenses"].get(pair[1])
        if pair in seen or sensor is None or lens is None:
            continue
        seen.add(pair)
        if not sensor.has("columns", "rows", "pitch_um") or not lens.has("focal_length_mm", "projection"):
            continue
        pitch_mm = sensor.table.pitch_um / 1000.0
        width_mm, height_mm = sensor.table.columns * pitch_mm, sensor.table.rows * pitch_mm
        focal_mm = lens.table.focal_length_mm
        if lens.table.projection == "rectilinear":
            longest_mm, limit = max(width_mm, height_mm), _RECTILINEAR_LIMIT_DEG
            field = math.degrees(2.0 * math.atan(0.5 * longest_mm / focal_mm))
            needed_mm = 0.5 * longest_mm / math.tan(math.radians(limit / 2.0))
            kind, which = "a rectilinear lens", "across"
        else:
            longest_mm, limit = math.hypot(width_mm, height_mm), _EQUIDISTANT_LIMIT_DEG
            field = math.degrees(longest_mm / focal_mm)
            needed_mm = longest_mm / math.radians(limit)
            kind, which = "an equidistant lens", "from corner to corner"
        if field >= limit:
            draft.refuse(
                f"{entry.where} lens",
                entry.table.lens,
                f"a field below {limit:g} degrees for {kind}; {focal_mm!r} mm on sensor "
                f'"{pair[0]}" makes {field:.4g} degrees {which}',
                f"focal_length_mm = {_round_up(needed_mm)!r} in {lens.where}",
            )


def _round_up(number: float) -> float:
    step = 10.0 ** (math.floor(math.log10(number)) - 1)
    return float(f"{(math.floor(number / step) + 1) * step:.6g}")


def _rule(draft: Draft, entry: Entry) -> None:
    table, given = entry.table, entry.given
    if "perimeter" in given and "points_m" in given:
        draft.refuse(f"{entry.where} points_m", table.points_m, "either perimeter or points_m, not both; leave one out")
    elif "perimeter" not in given and "points_m" not in given:
        names, _ = draft.names("perimeter")
        example = f"perimeter = {show_value(names[0] if names else 'north fence')}"
        allowed = "a rule needs the name of a perimeter, or points_m of its own"
        draft.refuse(f"{entry.where} perimeter", Problem.MISSING, allowed, example)
    _known(draft, entry, "perimeter", table.perimeter, "perimeter", "[[perimeter]]")
    for mark in table.cameras or ():
        _known(draft, entry, "cameras", mark, "camera", "[[camera]]")
    wrong = {"line": ("dwell_s",), "area": ("direction", "time_window_s")}.get(table.kind, ())
    for key in wrong:
        if key in given and entry.has(key):
            other = "area" if table.kind == "line" else "line"
            draft.refuse(f"{entry.where} {key}", getattr(table, key), f'only in a rule with kind = "{other}"; leave it out')
    intruder = draft.single["intruder"]
    path_m = intruder and intruder.table.path_m
    if table.kind == "line" and table.perimeter and path_m and table.offset_m is not None and abs(table.offset_m) >= path_m:
        draft.refuse(
            f"{entry.where} offset_m",
            table.offset_m,
            f"less than path_m = {path_m!r} of [intruder]: paths end before they reach this line",
            f"path_m = {abs(table.offset_m) + 5.0!r} in [intruder]",
        )


def _intruder(draft: Draft) -> None:
    entry = draft.single["intruder"]
    if entry is None:
        return
    table = entry.table
    if table.gaits is not None:
        total = math.fsum(table.gaits.values())
        if abs(total - 1.0) > _SHARES_TOLERANCE:
            shares = {name: share for name, share in table.gaits.items() if share}
            allowed = f"shares that add up to 1 (a gait left out has none); these add up to {total:.9g}"
            draft.refuse(f"{entry.where} gaits", shares, allowed, "gaits = { walk = 0.7, run = 0.3 }")
    if table.approach_angle_deg is not None and table.turn_deg is not None:
        low, high = (one + two for one, two in zip(table.approach_angle_deg.likely_bounds(), table.turn_deg.likely_bounds()))
        if low <= -90.0 or high >= 90.0:
            reach = high if high >= 90.0 else low
            draft.refuse(
                f"{entry.where} turn_deg",
                table.turn_deg.as_toml_value(),
                f"a turn that together with approach_angle_deg stays within 90 degrees of the inward normal; these reach "
                f"{reach:.4g} degrees, and such a path turns back before it is inside",
                'turn_deg = { dist = "uniform", low = -20.0, high = 20.0 }',
            )


def _kit(draft: Draft) -> None:
    """Names that exist. Prices may be missing here: who needs them all asks for them (`prices.half_priced`)."""
    entry = draft.single["kit"]
    if entry is None:
        return
    for table in ("sensors", "lenses"):
        for name in getattr(entry.table, table) or ():
            _known(draft, entry, table, name, table)


def _weather(draft: Draft, entry: Entry) -> None:
    table, given = entry.table, entry.given
    if table.fog == "none" and "drop_radius_um" in given and entry.has("drop_radius_um"):
        value = table.drop_radius_um.as_toml_value()
        draft.refuse(
            f"{entry.where} drop_radius_um", value, "only with a fog; leave it out, or name the fog", 'fog = "radiation"'
        )
    if table.fog in ("radiation", "advection") and "visibility_m" not in given:
        allowed = "a class with fog needs the visibility in it"
        draft.refuse(f"{entry.where} visibility_m", Problem.MISSING, allowed, "visibility_m = 100.0")
    window = table.front_window
    if window is None or window.state is None:
        return
    where = f"{entry.where} front_window"
    for key, state, example in (("share", "drops", 0.05), ("film_um", "film", 5.0)):
        if window.state == state and key not in window.model_fields_set:
            allowed, typed = (
                f'a window with state = "{state}" needs it',
                f'front_window = {{ state = "{state}", {key} = {example!r} }}',
            )
            draft.refuse(f"{where} {key}", Problem.MISSING, allowed, typed)
        elif window.state != state and key in window.model_fields_set and getattr(window, key) is not None:
            draft.refuse(
                f"{where} {key}", getattr(window, key), f'only with state = "{state}"; leave it out, or change the state'
            )


def _hours(draft: Draft) -> None:
    hours = [entry.table.hours_per_year for entry in draft.repeated["weather"]]
    if not hours or any(each is None for each in hours):
        return
    total = math.fsum(hours)
    if total > MOST_HOURS:
        draft.refuse(
            "[[weather]] hours_per_year of all classes together", total, f"at most {MOST_HOURS} hours: a year has no more"
        )
    elif total <= 0.0:
        allowed = "more than 0 hours: at least one class must have some"
        draft.refuse("[[weather]] hours_per_year of all classes together", total, allowed, "hours_per_year = 1200.0")
