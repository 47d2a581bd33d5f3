"""What drives the weakest places: shares of the variance between crossings by drawn input (`sensitivity.png`)."""

from __future__ import annotations

from matplotlib.figure import Figure

from fencecast.estimate.results import Results
from fencecast.estimate.sensitivity import INPUTS, WORDS, drivers, drivers_words, listed
from fencecast.estimate.weakest import printed_numbers
from fencecast.findings.words import pd_text, requirement_text
from fencecast.show.paper import style
from fencecast.show.paper.page import Page, shorten, wrap

ACROSS = 2
GAP_MM = 8.0
LABEL_MM, NUMBER_MM = 33.0, 9.0
BAR_MM, STEP_MM = 2.6, 4.4
MOST_BARS = 6
LEAST_SHARE = 0.02  # below it a bar is a hair


def plot_sensitivity(results) -> Figure:
    """A panel of bars for each named place; needs results of `run --sensitivity`.

    Dark: the input alone; grey up to its end: together with others; the line: interval of that end.
    """
    results = Results.of(results)
    if "sensitivity_total" not in results:
        raise ValueError("these results carry no shares of inputs; run with sensitivity=True")
    page = Page()
    told = next((p for p in range(results.sizes["place"]) if drivers(results, p)), 0)
    top = page.heading(
        f"{results['place'].values[told]}: {drivers_words(results, told)}",
        "Share of the variance of Pd between crossings that each drawn input brings, at the weakest places, lowest Pd first",
        results.attrs,
    )
    top = _key(page, top + 2.0, results)
    width = (page.right - page.left - GAP_MM * (ACROSS - 1)) / ACROSS
    places = range(results.sizes["place"])
    for row in range(0, len(places), ACROSS):
        bottoms = [_panel(page, page.left + k * (width + GAP_MM), top, width, results, p) for k, p in
                   enumerate(places[row : row + ACROSS])]  # fmt: skip
        top = max(bottoms) + 4.0
    page.foot(top, results.attrs)
    return page.figure


def _key(page: Page, y: float, results) -> float:
    x = page.left
    page.rect(x, y, 6.0, BAR_MM, fill=style.A_COLOUR)
    page.text(x + 7.2, y + 2.2, "alone", size=style.SMALL)
    x += 20.0
    page.rect(x, y, 6.0, BAR_MM, fill=style.BAND)
    page.text(x + 7.2, y + 2.2, "together with other inputs; the number is both", size=style.SMALL)
    x += 68.0
    page.line([x, x + 6.0], [y + 0.5 * BAR_MM] * 2, points=0.9)
    page.text(x + 7.2, y + 2.2, f"{100 * float(results.attrs['confidence']):g} % interval of that number", size=style.SMALL)
    x += 58.0
    page.line([x, x], [y - 0.4, y + BAR_MM + 0.4], colour=style.LINE, points=0.5)
    page.text(x + 1.6, y + 2.2, "100 %", size=style.SMALL)
    return y + BAR_MM + 4.5


def _panel(page: Page, left: float, top: float, width: float, results, place: int) -> float:
    """One place; returns the y below it."""
    code, weather = (str(results[name].values[place]) for name in ("place", "sensitivity_weather"))
    need = f"required {requirement_text(float(results.attrs['requirement_pd']))}"
    row, segment = list(results["weather"].values).index(weather), int(results["sensitivity_segment"].values[place])
    pd = printed_numbers(results, row, segment)[0]
    page.text(left, top + 2.4, shorten(f"{code} · {weather}", width, style.HEAD, "bold"), size=style.HEAD, weight="bold")
    said = f"Pd {pd_text(pd)}, {need}; {drivers_words(results, place)}."
    y = page.lines_of_text(left, top + 6.0, wrap(said, width, style.SMALL, most=3), 2.9, size=style.SMALL, colour=style.SECOND)
    y = max(y, top + 11.8) - 0.8
    x0, length = left + LABEL_MM, width - LABEL_MM - NUMBER_MM
    shares = {name: results[f"sensitivity_{name}"].values[place] for name in ("first", "total", "total_low", "total_high")}
    shown = [v for v in listed(results, place) if shares["total"][v] >= LEAST_SHARE][:MOST_BARS]
    for v in shown:
        first, total, low, high = (min(max(float(shares[name][v]), 0.0), 1.0) for name in shares)
        page.text(left, y + 2.2, WORDS[INPUTS[v]], size=style.SMALL)
        page.rect(x0, y, total * length, BAR_MM, fill=style.BAND)
        page.rect(x0, y, min(first, total) * length, BAR_MM, fill=style.A_COLOUR, zorder=3)
        page.line([x0 + low * length, x0 + high * length], [y + 0.5 * BAR_MM] * 2, points=0.9, zorder=5)
        page.text(left + width, y + 2.2, f"{100 * total:.0f} %", size=style.SMALL, ha="right")
        y += STEP_MM
    if shown:
        page.line([x0 + length] * 2, [y - STEP_MM * len(shown) - 0.6, y - 0.8], colour=style.LINE, points=0.5, zorder=1)
        page.line([x0, x0], [y - STEP_MM * len(shown) - 0.6, y - 0.8], colour=style.LINE, points=0.6, zorder=6)
    return y
