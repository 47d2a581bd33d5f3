"""Marks held against the design before anything is solved: what could not have been read at all, and what was read at an edge."""

from __future__ import annotations

import math

import numpy as np

from fencecast.camera import camera_geometry
from fencecast.prove.built.marksread import ReadCamera
from fencecast.review.optics import Hiders, eyes_of, hiders_of, shadow_m
from fencecast.site import Site

# Long lenses have no five degrees to spare: then a share of the field.
EDGE_DEG, EDGE_SHARE = 5.0, 0.06


def not_to_be_seen(site: Site, read: ReadCamera) -> list[str]:
    """Problems: marks behind the camera, or behind something solid, by the pose of the file."""
    eye = next(each for each in eyes_of(site) if each.mark == read.mark)
    hiders = hiders_of(site)
    solid = Hiders(hiders.prisms, tuple(sheet for sheet in hiders.sheets if sheet.open_share == 0.0))
    place = read.places()
    axes = np.array(camera_geometry(site, _camera(site, read)).axes)
    ahead = (place - (eye.x_m, eye.y_m, eye.height_m)) @ axes[6:]
    shadow = shadow_m(eye, solid, place[:, 0].copy(), place[:, 1].copy())
    found = []
    for mark, before, dark in zip(read.marks, ahead, shadow > place[:, 2]):
        where = f'line {mark.line}: mark "{mark.name}" of camera "{read.mark}"'
        if before <= 0.0:
            found.append(f"{where} lies behind the camera, {-before:.1f} m, as the site file aims it: look at its x_m and y_m")
        elif dark:
            found.append(f"{where} lies behind an obstacle, seen from the camera: look at its x_m and y_m")
    return found


def at_the_edge(site: Site, read: ReadCamera) -> list[str]:
    """Warnings: marks that the design puts within 5 degrees (or 6 % of the field) of the edge of the frame, or beyond it."""
    geometry = camera_geometry(site, _camera(site, read))
    found = []
    for mark in read.marks:
        where = geometry.position_px(mark.x_m, mark.y_m, mark.z_m)
        if where is None:
            found.append(mark.name)
            continue
        near = []
        for at, size in zip(where, (geometry.columns, geometry.rows)):
            right, _, ahead = geometry.ray(abs(at), 0.0)
            edge, _, edge_ahead = geometry.ray(0.5 * size, 0.0)
            half = math.degrees(math.atan2(edge, edge_ahead))
            near.append(half - math.degrees(math.atan2(right, ahead)) < min(EDGE_DEG, EDGE_SHARE * 2.0 * half))
        if any(near):
            found.append(mark.name)
    if not found:
        return []
    marks = f"mark{'s' if len(found) > 1 else ''} {', '.join(found)}"
    return [f'camera "{read.mark}": {marks} should be at the edge of its picture, or beyond it, as the site file aims it']


def _camera(site: Site, read: ReadCamera):
    return next(each for each in site.camera if each.mark == read.mark)
