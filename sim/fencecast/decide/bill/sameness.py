"""Whether results are of a site whose prices may have changed since, and what a design's cameras cost at the site's prices."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fencecast.decide.layout import price_with_lens
from fencecast.site import Site
from fencecast.site.schema import Camera, Table

# Tables and keys that no crossing depends on: prices above all, which are typed when the simulation is done.
_TABLES = ("title", "schema_version", "seed", "units", "prices", "item", "variant")
_KEYS = ("price", "camera_price", "reaim_price")


def differing(one: Site, other: Site, beside: Iterable[str] = ()) -> list[str]:
    """Names of the tables in which two sites differ by more than prices; `beside`: tables that may differ, too."""
    left_out = {*_TABLES, *beside}
    names = [name for name in type(one).model_fields if name not in left_out]
    return [name for name in names if _plain(getattr(one, name)) != _plain(getattr(other, name))]


def _plain(value: Any) -> Any:
    if isinstance(value, Table):
        return {key: _plain(part) for key, part in dict(value).items() if key not in _KEYS}
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    return value


def differ_by_lenses(one: Site, other: Site) -> bool:
    """Whether two sites differ by nothing but prices and the lenses of cameras."""
    if differing(one, other) != ["camera"] or len(one.camera) != len(other.camera):
        return False
    return all(
        _plain(mine.model_copy(update={"lens": theirs.lens})) == _plain(theirs) for mine, theirs in zip(one.camera, other.camera)
    )


def at_prices_of(site: Site, cameras: Iterable[Camera], priced: Iterable[str] = ()) -> tuple[Camera, ...]:
    """The cameras of a design with the prices that follow from the site's.

    One with the parts that it has in the site keeps the price there. With another lens its price follows when both lenses have
    one; with another sensor nobody knows it, so it goes (and those of its parts count, if there are any). New cameras go by their
    parts when these have prices. priced: marks whose price the design gives itself.
    """
    before = {camera.mark: camera for camera in site.camera}
    kept = set(priced)
    return tuple(camera if camera.mark in kept else _at_price(camera, _price(site, before, camera)) for camera in cameras)


def _at_price(camera: Camera, price: float | None) -> Camera:
    keys = {key: getattr(camera, key) for key in camera.model_fields_set if getattr(camera, key) is not None}
    return Camera(**({key: value for key, value in keys.items() if key != "price"} | ({} if price is None else {"price": price})))


def _price(site: Site, before: Mapping[str, Camera], camera: Camera) -> float | None:
    old = before.get(camera.mark)
    if old is None:
        parts = [site.sensors.get(camera.sensor), site.lenses.get(camera.lens)]
        return None if all(part is not None and part.price is not None for part in parts) else camera.price
    if old.sensor != camera.sensor:
        return None
    if old.lens == camera.lens:
        return old.price
    lenses = [site.lenses.get(name) for name in (old.lens, camera.lens)]
    both = all(lens is not None and lens.price is not None for lens in lenses)
    return price_with_lens(site, old, camera.lens) if both else None
