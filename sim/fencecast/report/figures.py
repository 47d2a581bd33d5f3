"""The figures of the full edition's pages, drawn by the code that draws the pictures, as markup that stands in a template."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fencecast.estimate.results import Results
from fencecast.estimate.weakest import Place
from fencecast.report.cells import Cells
from fencecast.report.sections.wherewords import VERDICTS, plan_label, strip_label
from fencecast.show.fence.data import class_rows, year_row
from fencecast.show.svg.bars import pd_dot_svg, share_bar_svg
from fencecast.show.svg.keys import ramp_key_svg, verdict_swatch_svg
from fencecast.show.svg.plan import PlanSvg, plan_svg
from fencecast.show.svg.strips import StripSvg, strip_svg

PLAN_MM = (88.0, 92.0)  # width and most height of the plan beside the table


@dataclass(frozen=True, eq=False)
class WhereFigures:
    """The section's figures as markup (every text in them was escaped where they were drawn), and what a script needs of them.

    bars, dots: one for each row of the table; dot_mm: x of Pd 0 and of Pd 1 in a dot's figure, and y. swatches: by verdict.
    """

    plan: Markup
    plan_key: tuple[str, ...]
    plan_data: PlanSvg
    strip: Markup
    strip_key: tuple[str, ...]
    strip_data: StripSvg
    ramp: Markup
    swatches: Mapping[str, Markup]
    bars: tuple[Markup, ...]
    dots: tuple[Markup, ...]
    dot_mm: tuple[float, float, float]


def where_figures(results: Results, cells: Cells, places: Sequence[Place], segment: int) -> WhereFigures:
    """Plan of the worst class with `places` numbered, strip, keys, and the small bars of the table at a segment."""
    plan = plan_svg(results, 0, places, *PLAN_MM, label=plan_label(cells.rows[0].name))
    strip = strip_svg(results, label=strip_label(results.sizes["weather"]))
    rows, year = list(class_rows(results)), year_row(results)
    if year is not None and len(cells.rows) > len(rows):
        rows.append(year)
    bars = [share_bar_svg(s.weak_m, s.undecided_m, s.meets_m, s.no_data_m) for s in (row.summary for row in rows)]
    dots = [
        pd_dot_svg(*(_fraction(int(of[k, segment])) for of in (cells.pd, cells.low, cells.high)), results.requirement)
        for k in range(len(rows))
    ]
    swatches = {word: Markup(verdict_swatch_svg(word, results.requirement).svg) for word in VERDICTS.values()}
    return WhereFigures(
        Markup(plan.svg), plan.key, plan, Markup(strip.svg), strip.key, strip, Markup(ramp_key_svg(results.requirement).svg),
        swatches, tuple(Markup(bar.svg) for bar in bars), tuple(Markup(dot.svg) for dot in dots),
        (dots[0].x0, dots[0].x1, dots[0].y),
    )  # fmt: skip


def _fraction(hundredth: int) -> float:
    return float("nan") if hundredth < 0 else hundredth / 100.0
