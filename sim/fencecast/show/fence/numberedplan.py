"""The plan of one weather class with numbered places and names, as sheet and report have it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shapely import box

from fencecast.estimate.weakest import Place
from fencecast.show.fence.data import Fence
from fencecast.show.fence.plan import scale_and_north, scale_length_m
from fencecast.show.fence.planframe import plan_turn
from fencecast.show.fence.planlabels import gate_names, letters, numbered_places
from fencecast.show.fence.planmarks import building_names, camera_labels
from fencecast.show.fence.planview import PlanView
from fencecast.show.paper import style
from fencecast.show.paper.surface import Surface


@dataclass(frozen=True)
class NumberedPlan:
    """A drawn plan: its view, key lines for what found no room, and the y below it [mm]."""

    view: PlanView
    key: list[str]
    bottom: float


def numbered_plan(
    page: Surface, fence: Fence, places: Sequence[Place], x: float, y: float, space: tuple[float, float],
    band: Callable[[PlanView], None], leaders: bool = False,
) -> NumberedPlan:  # fmt: skip
    """A plan in a space (width, most height) [mm], turned when that draws the fence much larger.

    band: draws the band of a class into the view. places: numbered when the first is weak. leaders: camera marks may stand on
    leaders; without, a mark that finds no room beside its dot is left out, since a strip on the same page has it.
    """
    turn = plan_turn(fence.site, *space)
    view = PlanView(page, fence, x, y, *space, turn)
    view.slack = (1.5, 1.0, 1.0)
    view.base()
    band(view)
    if places and places[0].weak_in:
        numbered_places(view, places)
    letters(view, size=style.HEAD, weight="bold")
    key = [camera_labels(view, leaders=leaders), gate_names(view), building_names(view)]
    bottom = view.y + view.height
    corner = _room_for_scale(view)
    below = scale_and_north(page, view.scale, *(corner or (x + 4.0, bottom + 2.0)), fence.units, turn)
    bottom = bottom if corner else below  # lower where feet stand under the metres
    gates_first = [key[1], key[0], key[2]]
    return NumberedPlan(view, [text for text in gates_first if text], bottom)


def _room_for_scale(view: PlanView) -> tuple[float, float] | None:
    """A free spot inside the yard for scale bar and north (their upper left corner), None when there is none."""
    if view.yard is None:
        return None
    west, north, east, south = view.yard.bounds
    wide = scale_length_m(view.scale) * view.scale + 20.0
    for y in range(int(south) - 12, int(north), -3):
        for x in range(int(west) + 3, int(east), 3):
            area = box(x - 1.5, y - 2.5, x + wide, y + (9.5 if view.site.units == "us" else 6.5))
            if view.free(area, True):
                return float(x), float(y)
    return None
