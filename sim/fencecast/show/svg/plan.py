"""The numbered plan of one weather class, with all that a script needs to show another class on the same paths.

A plan has one path an ink, `<path class="ink" data-ink="c3" d="...">`: `c0` and up, the steps of the ramp from low Pd to high;
`u0` and up, the same steps hatched (undecided); `n`, no data; `rail`, beside weak metres. The `d` of an ink is the `cells` of its
segments one after the other (`rails` for `rail`), in the order of segments: what is static and what a script joins are the same
bytes. One path an ink leaves no seams between cells.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from fencecast.estimate.results import Results
from fencecast.estimate.weakest import Place, lowest_places
from fencecast.show.fence.band import GAP_MM, WIDTH_MM
from fencecast.show.fence.data import FenceRow, class_rows, fence_of, year_row
from fencecast.show.fence.numberedplan import numbered_plan
from fencecast.show.fence.planview import OUTER_MM, PlanView
from fencecast.show.paper import style
from fencecast.show.paper.svgpage import SvgPage, cell_ink, element, stroke
from fencecast.show.paper.svgpath import number, one_way_round, path_data, subpaths
from fencecast.show.svg.figure import FigureSvg

MARKER_MM = 2.3  # radius of the ring round the segment that is shown
BESIDE_MM, ABOVE_MM = 1.6, 1.1  # labels may leave a plan's own rectangle by so much
VERDICT_LETTERS = {"weak": "w", "undecided": "u", "meets": "m", "no data": "n"}
NO_STEP = "-"


@dataclass(frozen=True, eq=False)
class PlanSvg(FigureSvg):
    """rows: names of the rows in `steps` and `verdicts`, classes worst first, last the year if there is one; row: which is drawn.

    steps: for each row a letter a segment, the step of the ramp from '0', '-' without data; verdicts: 'w', 'u', 'm' or 'n' a
    segment. inks: every ink of the figure. cells, rails: path data a segment. at: the middle of each segment's cell (x, y) [mm].
    """

    rows: tuple[str, ...] = ()
    row: int = 0
    inks: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    verdicts: tuple[str, ...] = ()
    cells: tuple[str, ...] = ()
    rails: tuple[str, ...] = ()
    at: tuple[tuple[float, float], ...] = ()


def plan_svg(
    results: Results | xr.Dataset,
    row: int = 0,
    places: Sequence[Place] | None = None,
    width_mm: float = 88.0,
    most_height_mm: float = 88.0,
    prefix: str = "plan",
    label: str | None = None,
    css_class: str = "fig-plan",
    marker: bool = True,
) -> PlanSvg:
    """The plan of one row: a weather class by its rank, worst first, or after the classes the year.

    places: numbered on the plan from 1, by default the five lowest. marker: a hidden `<g class="here">` about (0, 0), to be moved
    to a segment. IndexError when there is no such row.
    """
    results = Results.of(results)
    fence, year = fence_of(results), year_row(results)
    rows = (*class_rows(results), *([year] if year is not None else []))
    shown, ramp = rows[row], style.fence7(fence.requirement)
    page = SvgPage(width_mm, 0.0, prefix)
    named = tuple(lowest_places(results, 5)) if places is None else tuple(places)
    steps, verdicts = tuple(step_letters(each, ramp) for each in rows), tuple(verdict_letters(each) for each in rows)
    pieces: list[_Piece] = []

    def band(view: PlanView) -> None:
        pieces.extend(_pieces(view))
        _draw_band(page, view, pieces, steps[row], verdicts[row], ramp)

    space = (width_mm - 2 * BESIDE_MM, most_height_mm - 2 * ABOVE_MM)
    plan = numbered_plan(page, fence, named, BESIDE_MM, ABOVE_MM, space, band, leaders=True)
    page.set_height(plan.bottom + ABOVE_MM)
    if label is None:
        label = f"Plan of the fence, {shown.summary.name}" + (", with numbered places" if named and named[0].weak_in else "")
    return PlanSvg(
        svg=page.svg(label, css_class=css_class, more=_marker() if marker else ""), width_mm=width_mm, height_mm=page.height_mm,
        key=tuple(plan.key), rows=tuple(each.summary.name for each in rows), row=range(len(rows))[row],
        inks=tuple(inks_of(ramp)), steps=steps, verdicts=verdicts, cells=tuple(piece.cell for piece in pieces),
        rails=tuple(piece.rail for piece in pieces), at=tuple(piece.at for piece in pieces),
    )  # fmt: skip


def inks_of(ramp: style.Ramp) -> list[str]:
    """Names of the inks of a ramp: steps, hatched steps, no data, rail."""
    steps = range(len(ramp.colours))
    return [*(f"c{k}" for k in steps), *(f"u{k}" for k in steps), "n", "rail"]


def step_letters(row: FenceRow, ramp: style.Ramp) -> str:
    """The step of the ramp of every segment, one letter each; '-' without data."""
    return "".join(NO_STEP if math.isnan(pd) else str(ramp.step(pd)) for pd in row.pd)


def verdict_letters(row: FenceRow) -> str:
    """The verdict of every segment, one letter each: w, u, m, n."""
    return "".join(VERDICT_LETTERS[str(verdict)] for verdict in row.verdict)


def ink_of(step: str, verdict: str) -> str:
    """The ink of a segment's cell from its two letters."""
    return "n" if step == NO_STEP else f"u{step}" if verdict == "u" else f"c{step}"


@dataclass(frozen=True)
class _Piece:
    cell: str
    rail: str
    at: tuple[float, float]


def _pieces(view: PlanView) -> list[_Piece]:
    """Every segment of the fence on the plan."""
    fence, found = view.fence, []
    for k, section in enumerate(view.sections):
        for i in range(section.first, section.stop):
            ends = (k, float(fence.start_m[i]), float(fence.end_m[i]))
            x, y = view.band.point(k, float(fence.chainage_m[i]), GAP_MM + 0.5 * WIDTH_MM)
            cell, rail = view.band.quads(*ends), view.band.quads(*ends, OUTER_MM, OUTER_MM + style.PLAN_RAIL_MM)
            found.append(_Piece(_joined(cell), _joined(rail), (round(float(x), 2), round(float(y), 2))))
    return found


def _joined(quads: Sequence[np.ndarray]) -> str:
    return path_data(subpath for quad in quads for subpath in subpaths(one_way_round(quad), True))


def _draw_band(page: SvgPage, view: PlanView, pieces: Sequence[_Piece], steps: str, verdicts: str, ramp: style.Ramp) -> None:
    """The band of a class, one path an ink, also those that this class does not use."""
    for k, section in enumerate(view.sections):
        view.frame(k, section)
    data = dict.fromkeys(inks_of(ramp), "")
    for piece, step, verdict in zip(pieces, steps, verdicts):
        data[ink_of(step, verdict)] += piece.cell
        if verdict == "w":
            data["rail"] += piece.rail
    for name, d in data.items():
        colour = ramp.colours[int(name[1:])] if name[0] in "cu" else ""
        if name[0] == "c":
            look, zorder = cell_ink(colour), 2.0
        elif name[0] == "u":
            look, zorder = {**cell_ink(colour), "fill": page.hatched(style.hatch_colour(colour), under=colour)}, 2.0
        elif name == "n":
            look, zorder = {"fill": page.dotted(ground=True)}, 2.0
        else:
            look, zorder = {"fill": style.INK}, 5.0
        page.raw("path", {"class": "ink", "data-ink": name, "d": d, **look}, zorder)
    view.joints()


def _marker() -> str:
    """A ring about (0, 0), ink on a white casing."""
    ring = {"r": number(MARKER_MM), "fill": "none"}
    rings = element("circle", ring | stroke(style.PAPER, 3.7)) + element("circle", ring | stroke(style.INK, 1.7))
    return element("g", {"class": "here", "visibility": "hidden"}, rings)
