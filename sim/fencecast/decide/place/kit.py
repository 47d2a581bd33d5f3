"""What may be chosen: pairs of sensor and lens with their price, and the places where a camera may stand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
import shapely

from fencecast.camera import ImageGeometry, image_geometry
from fencecast.errors import InputError, UsageError, name_list
from fencecast.site.geometry import offset_line
from fencecast.site.prices import half_priced

# Without mountings cameras are tried this far inside the fences; a mast stands off its fence (judgement, no source).
INSIDE_M = 1.0
_DEFAULT_SPACING_M = 4.0
_DEFAULT_HEIGHT_M = 4.0
# Without prices: what a change weighs, in new cameras (judgement; only to choose between changes).
REAIM_WEIGHT, SWAP_WEIGHT = 0.1, 0.4


@dataclass(frozen=True)
class Choice:
    """One pair of sensor and lens, with the price of a camera made of it (None: no prices)."""

    sensor: str
    lens: str
    image: ImageGeometry
    price: float | None


@dataclass(frozen=True)
class Mount:
    """A place for cameras: ground point [m], heights [m], the mounting's name, what a camera costs more there."""

    x_m: float
    y_m: float
    heights_m: tuple[float, ...]
    mounting: str
    price: float


@dataclass(frozen=True)
class Kit:
    """The choices, the mounts, and whether there are prices; `assumed` says what the site file left open."""

    choices: tuple[Choice, ...]
    mounts: tuple[Mount, ...]
    priced: bool
    reaim_price: float
    assumed: tuple[str, ...]

    def choice(self, sensor: str, lens: str) -> Choice | None:
        """The pair, None when the kit does not hold it."""
        return next((each for each in self.choices if (each.sensor, each.lens) == (sensor, lens)), None)

    def camera_cost(self, choice: Choice, mount_price: float = 0.0) -> float:
        """Cost of one more camera: its price there; without prices 1."""
        return choice.price + mount_price if self.priced else 1.0

    def reaim_cost(self) -> float:
        """Cost of turning a camera that is mounted already."""
        return self.reaim_price if self.priced else REAIM_WEIGHT

    def swap_cost(self, site, lens: str) -> float:
        """Cost of another lens on a camera that is mounted already, turned at the same time."""
        return self.reaim_price + (site.lenses[lens].price or 0.0) if self.priced else SWAP_WEIGHT

    @property
    def unit(self) -> str:
        """What costs are counted in, for tables."""
        return "price" if self.priced else "cameras"


def check_prices(site) -> None:
    """InputError where some parts of the kit have a price and others have none."""
    sensors, lenses = _names(site)
    problems = half_priced({n: site.sensors[n].price for n in sensors}, {n: site.lenses[n].price for n in lenses})
    if problems:
        raise InputError(problems, "the site file")


def _names(site) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return site.kit.sensors or tuple(site.sensors), site.kit.lenses or tuple(site.lenses)


def kit_of(site, by_price: bool = True) -> Kit:
    """The kit that a site describes with [kit], prices and [[mounting]] tables.

    Without mountings: along the fences, 1 m inside, at the heights that the site's cameras have. by_price: refuse a kit of which
    some parts have a price and others none (InputError); else such a kit counts as one without prices. UsageError when no sensor
    and lens fit, or when no place is left.
    """
    if by_price:
        check_prices(site)
    sensors, lenses = _names(site)
    prices = [*(site.sensors[name].price for name in sensors), *(site.lenses[name].price for name in lenses)]
    priced = all(price is not None for price in prices)
    choices = tuple(
        choice for sensor in sensors for lens in lenses if (choice := make_choice(site, sensor, lens, priced)) is not None
    )
    if not choices:
        raise UsageError(
            f"no lens of {name_list(lenses)} fits a sensor of {name_list(sensors)}: each would have a field of 178 degrees or "
            "more; type for instance a longer focal_length_mm"
        )
    assumed = () if site.mounting else (_assumption(site),)
    if not priced:
        assumed += (
            f"no prices of the kit are given (price under [sensors.{sensors[0]}] and [lenses.{lenses[0]}]; that of a [[camera]] "
            "is none of the kit): a new camera counts 1, another lens 0.4, turning a camera 0.1",
        )
    mounts = tuple(mounts_of(site))
    if not mounts:
        raise UsageError("no place for a camera is left: every point of every [[mounting]] lies in an obstacle; move a mounting")
    return Kit(choices, mounts, priced, float(site.kit.reaim_price), assumed)


def make_choice(site, sensor_name: str, lens_name: str, priced: bool) -> Choice | None:
    """A pair; None when the lens cannot make a picture of that size."""
    sensor, lens = site.sensors[sensor_name], site.lenses[lens_name]
    image = image_geometry(sensor, lens)
    if not image.fits:
        return None
    price = float((sensor.price or 0.0) + (lens.price or 0.0) + site.kit.camera_price) if priced else None
    return Choice(sensor_name, lens_name, image, price)


def _assumption(site) -> str:
    heights = ", ".join(f"{height:g}" for height in _heights(site))
    where = f"{INSIDE_M:g} m inside the fences, {heights} m up, and where cameras are mounted already"
    return f"no [[mounting]] is given: cameras are tried {where}"


def _heights(site) -> tuple[float, ...]:
    return tuple(sorted({float(camera.height_m) for camera in site.camera})) or (_DEFAULT_HEIGHT_M,)


def mountings_of(site) -> list:
    """The site's mountings, or stand-ins along the fences and at its cameras when it has none."""
    if site.mounting:
        return list(site.mounting)
    heights = _heights(site)
    mountings = []
    for section in site.perimeter:
        try:
            line = offset_line(section, INSIDE_M)
        except ValueError:  # too tight a corner for a parallel line: the fence itself
            line = np.asarray(section.points_m)
        mountings.append(_stand_in(f"along {section.name}", line, heights))
    mountings += [_stand_in(f"at {camera.mark}", [camera.position_m], (float(camera.height_m),)) for camera in site.camera]
    return mountings


def _stand_in(name, points, heights):
    points = tuple((float(x), float(y)) for x, y in points)
    return SimpleNamespace(name=name, points_m=points, heights_m=heights, spacing_m=_DEFAULT_SPACING_M, price=0.0)


def mounting_shape(mounting):
    """The mounting as a shape: a point, a line, or the area inside a ring."""
    points = mounting.points_m
    if len(points) == 1:
        return shapely.Point(points[0])
    if len(points) > 3 and points[0] == points[-1]:
        return shapely.make_valid(shapely.Polygon(points[:-1]))
    return shapely.LineString(points)


def _places(mounting) -> list[tuple[float, float]]:
    """Points of a mounting to try, spacing_m apart or nearer: ends and corners of lines, a grid and the edge of areas."""
    shape = mounting_shape(mounting)
    if shape.geom_type == "Point":
        return [(shape.x, shape.y)]
    if shape.geom_type == "LineString":
        return _along(mounting.points_m, mounting.spacing_m)
    x0, y0, x1, y1 = shape.bounds
    nx, ny = (max(1, math.ceil((high - low) / mounting.spacing_m)) for low, high in ((x0, x1), (y0, y1)))
    grid = [(x0 + (i + 0.5) * (x1 - x0) / nx, y0 + (j + 0.5) * (y1 - y0) / ny) for j in range(ny) for i in range(nx)]
    return _along(mounting.points_m, mounting.spacing_m) + [point for point in grid if shape.contains(shapely.Point(point))]


def _along(points, spacing_m: float) -> list[tuple[float, float]]:
    found = [tuple(map(float, points[0]))]
    for a, b in zip(points, points[1:]):
        steps = max(1, math.ceil(math.dist(a, b) / spacing_m - 1e-9))
        found += [(a[0] + k / steps * (b[0] - a[0]), a[1] + k / steps * (b[1] - a[1])) for k in range(1, steps + 1)]
    return list(dict.fromkeys(found))


def buildings(site) -> list:
    """Obstacles as (area a millimetre inside their walls, height [m]): a camera may be mounted on a face, not behind it."""
    return [(shapely.Polygon(o.footprint_m).buffer(-0.001), o.height_m) for o in site.obstacle]


def mounts_of(site) -> list[Mount]:
    """Every place to try, none twice; heights at which a point would lie inside an obstacle are left out."""
    solid, seen, mounts = buildings(site), set(), []
    for mounting in mountings_of(site):
        for x, y in _places(mounting):
            point = shapely.Point(x, y)
            roof = max((height for shape, height in solid if shape.contains(point)), default=0.0)
            heights = tuple(height for height in mounting.heights_m if height >= roof)
            key = (round(x, 2), round(y, 2), heights)
            if heights and key not in seen:
                seen.add(key)
                mounts.append(Mount(x, y, heights, mounting.name, float(mounting.price)))
    return mounts
