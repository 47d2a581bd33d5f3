"""A site with other cameras or other tables: everything else stays as it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fencecast.site import Site
from fencecast.site.schema import Camera
from fencecast.site.without import counted_as, stimuli_of


def with_cameras(site: Site, cameras: Sequence[Camera], title: str | None = None) -> Site:
    """The site with `cameras` in place of its own, checked as a file would be (InputError).

    A rule that names its cameras keeps those that are still there, and listens to every camera that the site did not have: what
    is proposed may serve any rule. A rule that named none listens to all, as before; one that loses its last camera goes, unless
    it is the only rule. Stimuli keep their cameras in the same way (`stimuli_of`). Logs of alarms ([[soak]]) stay with the site
    that they are of (`counted_site`).
    """
    marks = {camera.mark for camera in cameras}
    known = {camera.mark for camera in site.camera}
    new = tuple(camera.mark for camera in cameras if camera.mark not in known)
    rules, unserved = [], []
    for rule in site.rule:
        keys = {key: getattr(rule, key) for key in rule.model_fields_set if key != "cameras" and getattr(rule, key) is not None}
        if "cameras" in rule.model_fields_set:
            kept = tuple(mark for mark in rule.cameras if mark in marks) + new
            if not kept:
                unserved.append(keys)
                continue
            keys["cameras"] = kept
        rules.append(keys)
    others: dict[str, Any] = {"rule": rules or unserved[:1], "stimulus": stimuli_of(site, marks)}
    same = tuple(cameras) == site.camera
    made = site.replace(title=title or site.title, camera=tuple(cameras), variant=(), soak=site.soak if same else (), **others)
    return made if same else counted_as(made, site)


def changed(camera: Camera, **values: Any) -> Camera:
    """A camera with other values; all of them count as given."""
    keys = {key: getattr(camera, key) for key in camera.model_fields_set if getattr(camera, key) is not None}
    return Camera(**{**keys, **values})


def price_with_lens(site: Site, camera: Camera, lens: str) -> float | None:
    """What a camera costs with another lens: its price follows when both lenses have one, else it stays (None without)."""
    old, new = (site.lenses[name].price for name in (camera.lens, lens))
    if lens == camera.lens or camera.price is None or old is None or new is None:
        return camera.price
    return max(camera.price - old + new, 0.0)


def free_marks(site: Site, count: int, start: str = "P") -> list[str]:
    """Marks that no camera of the site has: P1, P2 ..."""
    taken = {camera.mark for camera in site.camera}
    marks: list[str] = []
    number = 1
    while len(marks) < count:
        mark = f"{start}{number}"
        number += 1
        if mark not in taken:
            marks.append(mark)
    return marks
