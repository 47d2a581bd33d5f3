"""Two designs on the same crossings: where, in which weather, and by how much one is better (`comparison.png`)."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from fencecast.decide.compare.designs import as_run
from fencecast.estimate.places import runs_of, segment_lengths
from fencecast.estimate.results import Results
from fencecast.findings.comparison import ClassFinding, class_findings, metres_of
from fencecast.findings.words import first_upper, metres_text, number_word, whole
from fencecast.show.fence.strip import class_name, year_words
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.page import Page, text_width_mm, wrap

LEFT, RIGHT = 31.0, 128.0  # the fence between the class names and the metres
ROW_MM, BETWEEN_MM = 12.6, 4.6
MOST_CLASSES = 8
RIBBON_MM, RIBBON_SPACING_MM = 0.9, 0.6  # half height of the hatched ribbon of undecided metres, and of its lines
COLUMNS = {"better": 143.5, "worse": 152.5, "equivalent": 161.0, "undecided": 176.0}
LONGEST_LABEL_MM = 8.6
LONGEST_TITLE_NAME_MM = 60.0
INTERVAL_ALPHA = 0.38
COLOURS = {"better": style.B_COLOUR, "worse": style.A_COLOUR, "equivalent": style.BAND}


def plot_comparison(results, compared: int = 0) -> Figure:
    """One variant against the base: a row per weather class, bars about a zero line, up where the variant is better.

    results: a Dataset of `fencecast.compare`; compared: which of its variants, counted without the base. The difference is drawn
    as a bar because no colour map with two ends keeps its sign in grey print. Returns a matplotlib Figure, 180 mm wide.
    """
    results = Results.of(results)
    run = Results.of(as_run(results, 0))
    base, name = (str(results["variant"].values[k]) for k in (0, compared + 1))
    labels = short_names(base, name)
    found = class_findings(results, compared)
    drawn = found[:MOST_CLASSES]
    page = Page()
    fence = Unrolled(page, run, run.sections, LEFT, RIGHT)
    y = page.heading(comparison_title(results, compared, found), _subtitle(*labels, drawn, found))
    top = fence.head(y)
    _column_heads(page, top, labels)
    scale = largest_scale(results, compared, drawn)
    y = top + 0.9 + 2.0 * style.RAIL_MM
    for c in drawn:
        values = [results[f"pd_difference{end}"].values[compared, c.index] for end in ("", "_low", "_high")]
        standing = results["standing"].values[[0, compared + 1], c.index]
        _row(fence, y, values, results["verdict"].values[compared, c.index], standing, scale)
        class_name(page, c, LEFT - 1.9, y, ROW_MM)
        _metres(page, y, c.metres)
        y += ROW_MM + BETWEEN_MM
    y = _year(fence, results, compared, y, scale)
    y = fence.axis(y + 1.6)
    named = [f"{label} = {each}" for label, each in zip(labels, (base, name)) if label != each]
    y = fence.key_lines(y + 1.0, [" · ".join(named)] if named else ()) + 3.0
    page.foot(_key(page, y, labels, float(results.attrs["margin"]), 100 * float(results.attrs["confidence"])), run.attrs)
    return page.figure


def short_names(base: str, name: str) -> tuple[str, str]:
    """The names where both are short enough for a column, else A and B."""
    fit = all(text_width_mm(each, style.LABEL, "bold") <= LONGEST_LABEL_MM for each in (base, name))
    return (base, name) if fit else ("A", "B")


def largest_scale(results, compared: int, drawn: list[ClassFinding]) -> float:
    """The smallest of a few round differences that holds every interval drawn: one scale for all rows, the same up and down."""
    rows = [c.index for c in drawn]
    ends = [results[f"pd_difference{end}"].values[compared, rows] for end in ("_low", "_high")]
    most = np.nanmax(np.abs(ends)) if not np.isnan(ends).all() else 0.0
    return next((top for top in (0.1, 0.2, 0.3, 0.5, 0.7) if most <= top), 1.0)


def comparison_title(results, compared: int, found: list[ClassFinding]) -> str:
    """`Warm dusk: 6 mm turns 104 weak metres meets, and 4 meets metres weak`."""
    base, name = (_in_title(str(results["variant"].values[k]), "AB"[k > 0]) for k in (0, compared + 1))
    worst = next((c for c in found if c.hours > 0), found[0])
    start, units = f"{first_upper(worst.name)}: ", str(results.attrs["units"])
    metres = worst.metres
    if metres["no data"] >= sum(metres.values()) - 0.5:
        return f"{start}nothing was simulated"
    if metres["better"] + metres["worse"] + metres["undecided"] < 0.5:
        return f"{start}{base} and {name} are equivalent on all {metres_text(metres['equivalent'], units)}"
    if worst.turned_to_meets_m + worst.turned_weak_m < 0.5:
        better, worse = (metres_text(metres[word], units) for word in ("better", "worse"))
        return f"{start}{name} is better on {better} and worse on {worse}; no weak metre turns meets, and none the other way"
    meets, weak = (_metres_words(m) for m in (worst.turned_to_meets_m, worst.turned_weak_m))
    return f"{start}{name} turns {meets[0]} weak {meets[1]} meets, and {weak[0]} meets {weak[1]} weak"


def _metres_words(metres: float) -> tuple[str, str]:
    number = int(whole(metres).replace(",", ""))
    return ("no" if number == 0 else whole(metres)), ("metre" if number <= 1 else "metres")


def _in_title(name: str, letter: str) -> str:
    return name if text_width_mm(name, style.TITLE, "bold") <= LONGEST_TITLE_NAME_MM else letter


def _subtitle(base: str, name: str, drawn, found) -> str:
    text = f"Difference in Pd, {name} minus {base}, the same crossings through both: bars up, {name} better; down, {base} better"
    if len(drawn) < len(found):
        text += f"; the worst {number_word(len(drawn))} of {number_word(len(found))} classes"
    return text


def _column_heads(page: Page, top: float, labels: tuple[str, str]) -> None:
    page.text(COLUMNS["worse"], top - 5.4, "metres better with", size=style.SMALL, colour=style.SECOND, ha="right")
    for word, label in (("better", labels[1]), ("worse", labels[0])):
        page.text(COLUMNS[word], top - 2.4, label, weight="bold", ha="right")
    for word, label in (("equivalent", "equal"), ("undecided", "undecided")):
        page.text(COLUMNS[word], top - 2.4, label, size=style.SMALL, colour=style.SECOND, ha="right")


def _metres(page: Page, y: float, metres: dict[str, float]) -> None:
    for word, x in COLUMNS.items():
        told = word in ("better", "worse")
        how = {"size": style.HEAD, "weight": "bold"} if told else {"colour": style.SECOND}
        page.text(x, y + 0.5 * ROW_MM + 1.0, whole(metres[word]), ha="right", **how)


def _row(fence: Unrolled, y: float, values, words, standing, scale: float, rails: bool = True) -> None:
    """One class: interval in grey, bars by verdict, a step line, hatched ribbons; rails where the standing changes sides."""
    page = fence.page
    zero = y + 0.5 * ROW_MM

    def at(difference):
        return zero - np.clip(difference, -scale, scale) / scale * 0.5 * ROW_MM

    bands, bars, fills = [], [], []
    for section in fence.sections:
        x0, x1 = fence.span(section.index, section.first, section.stop)
        page.rect(x0, y, x1 - x0, ROW_MM, edge=style.GUIDE, points=0.5, zorder=1)
        page.line([x0, x1], [zero, zero], points=0.6, zorder=4)
    for run in runs_of(words, fence.sections):
        a, b = fence.span(run.section, run.first, run.stop)
        if run.verdict == "no data":
            page.no_data([(a, y), (b, y), (b, y + ROW_MM), (a, y + ROW_MM)], zorder=4.2)
            continue
        edges = [fence.span(run.section, i, i + 1) for i in range(run.first, run.stop)]
        mean, low, high = (at(part[run.first : run.stop]) for part in values)
        for (u, v), middle, lower, upper in zip(edges, mean, low, high):
            bands.append([(u, lower), (v, lower), (v, upper), (u, upper)])
            if run.verdict in COLOURS:
                bars.append([(u, zero), (v, zero), (v, middle), (u, middle)])
                fills.append(COLOURS[run.verdict])
        page.line(np.ravel(edges), np.repeat(mean, 2), points=0.6, zorder=6, solid_joinstyle="miter")
        if run.verdict == "undecided":
            ribbon = [(a, zero - RIBBON_MM), (b, zero - RIBBON_MM), (b, zero + RIBBON_MM), (a, zero + RIBBON_MM)]
            page.hatch(ribbon, style.INK, spacing_mm=RIBBON_SPACING_MM, zorder=5)
    page.polygons(bands, [style.LINE] * len(bands), zorder=2).set_alpha(INTERVAL_ALPHA)
    page.polygons(bars, fills, zorder=3)
    for level, text in ((scale, f"+{scale:g}"), (0.0, "0"), (-scale, f"−{scale:g}")):
        baseline = {scale: y + 2.0, 0.0: zero + 0.8, -scale: y + ROW_MM - 0.2}[level]
        page.text(fence.right + 1.4, baseline, text, size=style.SMALL, colour=style.SECOND)
    if rails:
        _rails(fence, y, standing)


def _rails(fence: Unrolled, y: float, standing) -> None:
    """A black rail above where the base is weak and the variant meets; an open one below where it is the other way round."""
    before, after = standing
    gained, lost = (before == "weak") & (after == "meets"), (before == "meets") & (after == "weak")
    turned = np.where(gained, "up", np.where(lost, "down", ""))
    for run in runs_of(turned, fence.sections):
        a, b = fence.span(run.section, run.first, run.stop)
        if run.verdict == "up":
            fence.rails(a, b, [y - 0.5 - style.RAIL_MM])
        elif run.verdict == "down":
            _open_rail(fence.page, a, b, y + ROW_MM + 0.6)


def _open_rail(page: Page, a: float, b: float, top: float) -> None:
    width = max(b - a, 0.7)
    page.rect(0.5 * (a + b - width), top, width, style.RAIL_MM, fill=style.PAPER, edge=style.INK, points=0.6, zorder=5)


def _year(fence: Unrolled, results, compared: int, y: float, scale: float) -> float:
    """A last row over the year, ruled off; returns the y of its lower edge."""
    values = [results[f"pd_difference_year{end}"].values[compared] for end in ("", "_low", "_high")]
    if np.isnan(values[0]).all():
        return y - BETWEEN_MM  # no hours at all: there is no year to weigh
    page, words = fence.page, results["verdict_year"].values[compared]
    page.line([page.left, page.right], [y - 1.4] * 2, colour=style.GUIDE, points=0.6)
    y += 0.9
    _row(fence, y, values, words, None, scale, rails=False)
    for i, line in enumerate(year_words(results)):
        how = {"weight": "bold"} if i == 0 else {"size": style.SMALL, "colour": style.SECOND}
        page.text(LEFT - 1.9, y + 0.5 * ROW_MM - 0.5 + 2.9 * i, line, ha="right", **how)
    _metres(page, y, metres_of(words, segment_lengths(results)))
    return y + ROW_MM


def _key(page: Page, y: float, labels: tuple[str, str], margin: float, confidence: float) -> float:
    """Bars, verdicts and rails with their meanings; returns the y below it."""
    base, name = labels
    entries = (
        ("better", f"{name} better", "whole paired interval above 0"),
        ("worse", f"{base} better", "whole paired interval below 0"),
        ("undecided", "undecided", "paired interval across 0"),
        ("equivalent", "equal", f"whole interval within ±{margin:g}"),
    )
    step = (page.right - page.left) / len(entries)
    for i, (word, head, meaning) in enumerate(entries):
        x = page.left + i * step
        if word in COLOURS:
            page.rect(x, y, 7.0, 2.9, fill=COLOURS[word])
        else:
            page.line([x, x + 7.0], [y + 1.45] * 2, points=0.6)
            page.hatch(
                [(x, y + 0.5), (x + 7.0, y + 0.5), (x + 7.0, y + 2.4), (x, y + 2.4)], style.INK, spacing_mm=RIBBON_SPACING_MM
            )
        page.text(x + 8.4, y + 2.3, head, weight="bold")
        for j, line in enumerate(wrap(meaning, step - 9.0, style.SMALL, most=2)):
            page.text(x + 8.4, y + 5.2 + 2.7 * j, line, size=style.SMALL, colour=style.SECOND)
    y += 12.4
    x = page.left
    for mark, text in (
        ("up", f"above a row: weak with {base}, meets with {name}"),
        ("down", f"below a row: meets with {base}, weak with {name}"),
        ("interval", f"{confidence:g} % interval"),
    ):
        width = 8.4 + text_width_mm(text, style.SMALL)
        if x > page.left and x + width > page.right:
            x, y = page.left, y + 4.4
        if mark == "up":
            page.rect(x, y - 1.3, 7.0, style.RAIL_MM, fill=style.INK)
        elif mark == "down":
            _open_rail(page, x, x + 7.0, y - 1.3)
        else:
            page.rect(x, y - 2.2, 7.0, 2.9, fill=style.LINE, alpha=INTERVAL_ALPHA)
            page.line([x, x + 7.0], [y - 0.75] * 2, points=0.6)
        page.text(x + 8.4, y, text, size=style.SMALL)
        x += width + 5.0
    return y + 3.6
