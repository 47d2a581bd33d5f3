"""Each design against the base, one dot per yard, and the mean with its interval over yards (`study-differences.png`)."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from fencecast.decide.study.results import by_design
from fencecast.findings.standings import allowance_words, common_yards, distinguishable, mean_pd_words, standings
from fencecast.findings.words import first_upper, hours_text
from fencecast.show.paper import style
from fencecast.show.paper.page import Page, shorten, text_width_mm
from fencecast.show.study.costfront import _round_step
from fencecast.show.study.sheet import left_out, shown_classes, shown_designs

ROW_MM, HEAD_MM = 5.4, 6.4
LABEL_MM, WORDS_MM = 40.0, 50.0
# Where the largest mean difference is more than so many times the smallest, small ones would vanish on an even scale.
_MOST_LINEAR = 8.0
_BENT_TICKS = (0.01, 0.05, 0.1, 0.2, 0.5, 1.0)


def plot_study_differences(results) -> Figure:
    """Rows of designs for the year and every weather class; x: mean Pd of a yard's fence minus that of the base there."""
    page = Page()
    base = str(results.attrs["base"])
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    top = page.heading(
        differences_title(results),
        f"Mean Pd of the fence minus that of {base} on the same yard and the same crossings, at {allowance_words(results)}; "
        f"ticks: yards; dot and bar: mean over yards and its {confidence} interval (Student's t)",
    )
    designs = [str(name) for name in results["design"].values]
    shown = [k for k in shown_designs(results) if designs[k] != base]
    pd = by_design(results)[0]
    differences = pd - pd[:, [designs.index(base)], :]
    rows = [results.sizes["weather"] - 1, *shown_classes(results)]
    if not shown:
        page.text(page.left, top + 6.0, "One design: nothing to hold against each other.", size=style.LABEL)
        page.foot(top + 12.0, results.attrs)
        return page.figure
    drawn = differences[:, shown][:, :, rows]
    low, high = min(float(np.nanmin(drawn)), 0.0), max(float(np.nanmax(drawn)), 0.0)
    means = np.abs(results["pd_difference"].values[0].reshape(len(designs), -1)[shown][:, rows])
    means = means[np.isfinite(means) & (means > 0.0)]
    bent = len(means) > 1 and means.max() > _MOST_LINEAR * means.min()
    left, right = page.left + LABEL_MM, page.right - WORDS_MM

    def scaled(value):
        return np.sign(value) * np.sqrt(np.abs(value)) if bent else np.asarray(value, dtype=float)

    room = 0.04 * max(float(scaled(high) - scaled(low)), 0.01)
    ends = (float(scaled(low)) - room, float(scaled(high)) + room)

    def x(value):
        return left + (scaled(value) - ends[0]) / (ends[1] - ends[0]) * (right - left)

    page.text(page.right, top + 4.6, "mean and interval · better on", ha="right", size=style.SMALL, colour=style.SECOND)
    y = top + 3.0
    first_y = y + 3.4
    for weather in rows:
        name, hours = str(results["weather"].values[weather]), float(results["weather_hours"].values[weather])
        name = shorten(first_upper(name), 70.0, style.HEAD, "bold")
        page.text(page.left, y + 4.2, name, size=style.HEAD, weight="bold", plate=True)
        if weather < results.sizes["weather"] - 1:
            after = page.left + text_width_mm(name, style.HEAD, "bold") + 2.5
            page.text(after, y + 4.2, hours_text(hours), size=style.SMALL, colour=style.SECOND, plate=True)
        y += HEAD_MM
        for k in shown:
            _row(page, y + 0.5 * ROW_MM, results, k, weather, designs[k], differences[:, k, weather], x, (left, right))
            y += ROW_MM
    page.line([float(x(0.0))] * 2, [first_y, y], points=0.9, zorder=3)
    _axis(page, y, x, (left, right), (low, high), base, bent)
    y += 9.4
    if left_out(results):
        page.text(page.left, y + 2.0, left_out(results), size=style.SMALL, colour=style.SECOND)
        y += 4.0
    page.foot(y + 1.0, results.attrs)
    return page.figure


def _row(page: Page, y: float, results, design: int, weather: int, name: str, by_yard, x, sides) -> None:
    ends = [float(results[f"pd_difference{end}"].values[0, ..., weather].reshape(-1)[design]) for end in ("", "_low", "_high")]
    page.text(page.left + 2.0, y + 0.9, shorten(name, LABEL_MM - 4.0), size=style.LABEL)
    if np.isnan(ends[0]):
        page.text(page.right, y + 0.9, "no yard with both", ha="right", size=style.SMALL, colour=style.SECOND)
        return
    known = by_yard[~np.isnan(by_yard)]
    page.segments([[(v, y - 1.0), (v, y + 1.0)] for v in x(known)], colour=style.LINE, points=0.4, zorder=2)
    if not np.isnan(ends[1]):
        low, high = (float(v) for v in x(ends[1:]))
        page.line(np.clip([low, high], *sides), [y, y], colour=style.A_COLOUR, points=2.2, zorder=5)
        for beyond, at, tip in ((low < sides[0], sides[0], -1.8), (high > sides[1], sides[1], 1.8)):
            if beyond:  # the interval goes on: a point instead of a blunt end
                page.polygon([(at, y - 1.2), (at + tip, y), (at, y + 1.2)], fill=style.A_COLOUR, zorder=5)
    page.dot(float(x(ends[0])), y, 1.9, colour=style.A_COLOUR, edge=style.PAPER, zorder=6)
    better = float(results["yards_better"].values[0, ..., weather].reshape(-1)[design])
    compared = int(results["yards_compared"].values[0, ..., weather].reshape(-1)[design])
    words = f"{ends[0]:+.3f}" + ("" if np.isnan(ends[1]) else f" ({ends[1]:+.3f} to {ends[2]:+.3f})")
    words = f"{words} · {round(better * compared)} of {compared}".replace("-", "−")
    page.text(page.right, y + 0.9, words, ha="right", size=style.SMALL)


def _axis(page: Page, y: float, x, sides, limits, base: str, bent: bool) -> None:
    page.line(sides, [y, y], colour=style.LINE, points=0.5)
    step = _round_step(limits[1] - limits[0])
    ticks = [k * step for k in range(int(np.ceil(limits[0] / step - 1e-9)), int(np.floor(limits[1] / step + 1e-9)) + 1)]
    if bent:
        ticks = [sign * tick for tick in _BENT_TICKS for sign in (-1.0, 1.0)]
    taken: list[tuple[float, float]] = []
    for tick in [0.0, *sorted((t for t in ticks if t and limits[0] <= t <= limits[1]), key=abs, reverse=True)]:
        at = float(x(tick))
        page.line([at, at], [y, y + 1.0], colour=style.LINE, points=0.5)
        label = f"{tick:+.4g}".replace("-", "−") if tick else "0"
        half = 0.5 * text_width_mm(label, style.SMALL) + 0.7
        if all(abs(at - other) > half + width for other, width in taken):
            page.text(at, y + 3.8, label, ha="center", size=style.SMALL, colour=style.SECOND)
            taken.append((at, half))
    words = f"difference of mean Pd{', square-root scale' if bent else ''}; left of 0: {base} is better"
    page.text(sides[0], y + 7.4, shorten(words, sides[1] - sides[0], style.SMALL), size=style.SMALL, colour=style.SECOND)


def differences_title(results) -> str:
    """`Chain wins over 40 yards: mean Pd 0.021 above corner pairs`, or that the first two cannot be told apart."""
    rows = standings(results, results.sizes["weather"] - 1)
    if not rows:
        return "No yard has a layout of every design"
    yards = common_yards(results)
    words = f"{yards:,} yard{'s' if yards != 1 else ''}"
    if len(rows) == 1:
        return f"{first_upper(rows[0].design)}: mean Pd {mean_pd_words(rows[0].pd)} over {words}"
    if distinguishable(rows[0], float(results.attrs["confidence"])):
        return f"{first_upper(rows[0].design)} wins over {words}: mean Pd {rows[0].gap:.3f} above {rows[1].design}, the next"
    return f"{first_upper(rows[0].design)} and {rows[1].design} come first and cannot be told apart over {words}"
