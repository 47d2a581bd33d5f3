"""What a user may leave out and another key decides: filled in after all checks have passed."""

from __future__ import annotations

import math

from fencecast.site.schema import OPEN_SHARE, Camera, Table

_ILLUMINATION = {"rectilinear": "cos4", "equidistant": "flat"}


def aim_angles_deg(position_m: tuple[float, float], height_m: float, aim_m: tuple[float, float]) -> tuple[float, float]:
    """Bearing (clockwise from north, 0 to 360) and depression [degrees] of the axis from a mount to a point on the ground."""
    east, north = aim_m[0] - position_m[0], aim_m[1] - position_m[1]
    return math.degrees(math.atan2(east, north)) % 360.0, math.degrees(math.atan2(height_m, math.hypot(east, north)))


def without_repeat(points_m: tuple) -> tuple:
    """A ring's points without the repeated first one at its end."""
    return points_m[:-1] if len(points_m) > 1 and points_m[0] == points_m[-1] else points_m


def _with(table: Table, given: set[str] | None = None, **values) -> Table:
    """A copy with other values; what counts as given by the user stays as it was unless said otherwise."""
    kept = table.model_fields_set if given is None else given
    return type(table).model_construct(_fields_set=set(kept), **{**dict(table), **values})


def _aimed(camera: Camera) -> Camera:
    if camera.aim_m is None:
        return camera
    bearing, depression = aim_angles_deg(camera.position_m, camera.height_m, camera.aim_m)
    given = (camera.model_fields_set - {"aim_m"}) | {"bearing_deg", "depression_deg"}
    return _with(camera, given, aim_m=None, bearing_deg=bearing, depression_deg=depression)


def _placed(ground: Table, place: Table) -> Table:
    """[site] with the latitude and longitude of [map] where it has none."""
    return _with(ground, **{key: getattr(place, key) for key in ("latitude", "longitude") if getattr(ground, key) is None})


def fill_defaults(tables: dict) -> dict:
    """The checked tables with every dependent default in place."""
    filled = dict(tables)
    if tables["map"] is not None:
        filled["site"] = _placed(tables["site"], tables["map"])
    filled["perimeter"] = tuple(
        _with(
            each,
            points_m=without_repeat(each.points_m) if each.closed else each.points_m,
            barrier_open_share=OPEN_SHARE[each.barrier] if each.barrier_open_share is None else each.barrier_open_share,
        )
        for each in tables["perimeter"]
    )
    filled["obstacle"] = tuple(_with(each, footprint_m=without_repeat(each.footprint_m)) for each in tables["obstacle"])
    filled["lenses"] = {
        name: _with(lens, relative_illumination=lens.relative_illumination or _ILLUMINATION[lens.projection])
        for name, lens in tables["lenses"].items()
    }
    filled["camera"] = tuple(_aimed(each) for each in tables["camera"])
    marks = tuple(each.mark for each in filled["camera"])
    filled["rule"] = tuple(_with(each, cameras=each.cameras or marks) for each in tables["rule"])
    names = tuple(each.name for each in filled["perimeter"])
    filled["stimulus"] = tuple(
        _with(each, name=each.name or each.kind, perimeters=(each.perimeters or names) if each.family == "body" else ())
        for each in tables["stimulus"]
    )
    return filled
