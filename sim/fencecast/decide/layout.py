"""A site with other cameras: everything else stays as it is."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.site import Site
from fencecast.site.reading import KEYED, REPEATED, SINGLE
from fencecast.site.schema import Camera


def with_cameras(site: Site, cameras: Sequence[Camera], title: str | None = None) -> Site:
    """The site with `cameras` in place of its own, checked as a file would be (InputError).

    A rule that names its cameras keeps those that are still there, and listens to every camera that the site did not have: what
    is proposed may serve any rule. A rule that named none listens to all, as before; one that loses its last camera goes, unless
    it is the only rule.
    """
    marks = {camera.mark for camera in cameras}
    known = {camera.mark for camera in site.camera}
    new = tuple(camera.mark for camera in cameras if camera.mark not in known)
    rules, deaf = [], []
    for rule in site.rule:
        keys = {key: getattr(rule, key) for key in rule.model_fields_set if key != "cameras" and getattr(rule, key) is not None}
        if "cameras" in rule.model_fields_set:
            kept = tuple(mark for mark in rule.cameras if mark in marks) + new
            if not kept:
                deaf.append(keys)
                continue
            keys["cameras"] = kept
        rules.append(keys)
    tables = {name: getattr(site, name) for name in (*SINGLE, *KEYED, *REPEATED)}
    tables = {name: table for name, table in tables.items() if table is not None}
    # Variants were written for the cameras that were there.
    tables |= {"camera": tuple(cameras), "rule": rules or deaf[:1], "variant": ()}
    made = Site(schema=site.schema_version, title=title or site.title, seed=site.seed, units=site.units, **tables)
    made._folder, made._year = site._folder, site._year  # the same weather file, read once
    return made


def changed(camera: Camera, **values) -> Camera:
    """A camera with other values; all of them count as given."""
    keys = {key: getattr(camera, key) for key in camera.model_fields_set if getattr(camera, key) is not None}
    return Camera(**{**keys, **values})


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
