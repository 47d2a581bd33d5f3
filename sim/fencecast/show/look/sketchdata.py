"""What the sketch of a camera's picture draws: what stands in it, and where a person is who is hidden or not in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fencecast.findings.lookscene import way_sentences
from fencecast.onelook.scenery import Shape
from fencecast.site import Site


@dataclass(frozen=True, eq=False)
class Sketch:
    """What stands in the camera's picture when the person is hidden or not in it: frame (columns, rows) [px], shapes and horizon,
    the box of the person (column from, to, row from, to) [px] or None, the sides of a person outside, the reasons in words."""

    frame_px: tuple[int, int]
    scenery: tuple[Shape, ...]
    horizon: tuple[np.ndarray, ...]
    person_px: tuple[float, float, float, float] | None
    sides: tuple[str, ...]
    words: tuple[str, ...]
    who: str = "person"


def sketch_of(explanation: Mapping[str, Any], site: Site) -> Sketch | None:
    """The sketch of a look in which something is in the way or the person outside the picture; None for any other."""
    if "scenery" not in explanation or not (explanation["outside"] or explanation["hidden_by"]):
        return None
    shapes = tuple(
        Shape(each["name"], each["kind"], tuple(np.array(face) for face in each["faces"]), tuple(each["distance_m"]))
        for each in explanation["scenery"]
    )
    person = explanation["person_px"]
    return Sketch(
        frame_px=tuple(explanation["frame_px"]),
        scenery=shapes,
        horizon=tuple(np.array(line) for line in explanation["horizon_px"]),
        person_px=None if person is None else tuple(person),
        sides=tuple(each["side"] for each in explanation["outside"]),
        words=tuple(way_sentences(explanation, site.units)),
        who=explanation.get("who", "person"),
    )
