"""What the hours of a weather file are like at a site (`weather.png`): hours by class and month, and carpets night by night."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from fencecast.cautions import CAUTION
from fencecast.findings.words import whole
from fencecast.findings.yeartitles import TYPICAL_YEARS, weather_title
from fencecast.meteorology.sorting import CROSSOVER_K, DRIZZLE_MM_H, FOG_M, HEAVY_MM_H
from fencecast.meteorology.year import Year
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.pixels import PIXEL_MM
from fencecast.show.paper.text import shorten, text_width_mm
from fencecast.show.year.box import MONTHS, Box
from fencecast.show.year.data import WeatherData, weather_data
from fencecast.show.year.nights import HOURS
from fencecast.site import Site

__all__ = ["TYPICAL_YEARS", "plot_weather", "weather_title"]

X_MM, ROW_PX = 22.0, 10
BAR_MM, BAR_STEP_MM = 3.6, 6.6


@dataclass(frozen=True)
class Scale:
    """A stepped scale: colours[i] from edges[i - 1] to edges[i]; words[i] stands at edges[i] in the key."""

    edges: tuple[float, ...]
    colours: tuple[str, ...]
    words: tuple[str, ...]
    upwards: bool = False  # in the key, high values above low ones

    def step(self, values: np.ndarray) -> np.ndarray:
        """Index of each value's colour, -1 for NaN; a value equal to an edge belongs to the step above it."""
        return np.where(np.isnan(values), -1, np.searchsorted(self.edges, np.nan_to_num(values), side="right"))


# Ink is trouble, as in every picture; lightness alone orders each scale, so that it survives grey print and colour blindness.
RANGE_SCALE = Scale(
    (100.0, 200.0, FOG_M, 5000.0, 10_000.0),
    ("#0B1F3F", "#23508C", "#5C88BE", "#A3C0DF", "#D5E3F1", "#F7FAFD"),
    ("100 m", "200 m", "1 km", "5 km", "10 km"),
)
RAIN_SCALE = Scale(
    (1e-9, DRIZZLE_MM_H, 2.5, HEAVY_MM_H),
    ("#F8FBF9", "#C2DDD2", "#7FB5A4", "#3C7F6E", "#123F36"),
    ("0", f"{DRIZZLE_MM_H:g}", "2.5", f"{HEAVY_MM_H:g}"),
)
# Snow has the lightness of rain at the same rate, in another hue: grey print loses only which of the two it was.
SNOW_COLOURS = ("#F8FBF9", "#DDD2EC", "#B49FD3", "#7B61A6", "#3D2A5C")
# Signed: no two steps share a lightness. Near zero is black; colder than the ground dark and blue, warmer light and yellow.
CONTRAST_SCALE = Scale(
    (-3.0, -CROSSOVER_K, CROSSOVER_K, 3.0, 6.0),
    ("#8088C9", "#4A4FA0", "#141414", "#C9A94E", "#E8D79A", "#FCF8E8"),
    ("−3 K", f"−{CROSSOVER_K:g} K", f"+{CROSSOVER_K:g} K", "+3 K", "+6 K"),
    upwards=True,
)


def plot_weather(year: Year, site: Site) -> Figure:
    """Hours of each class by month, and carpets of optical range, rain and snow, and a walker's contrast.

    year: the hours; site: its title and hash for the foot. The carpets show every known hour, the armed ones outlined.
    """
    data = weather_data(year)
    page = Page()
    span = data.which or ("a year" if data.a_year else "the record")
    subtitle = "Armed hours of each weather class by month, every row on its own scale; below, "
    subtitle += f"every hour of {span}: one column a night, from noon to noon"
    y = page.heading(data.title, subtitle)
    y = _bars(page, data, y + 1.0)
    rate_step = np.where(data.known, RAIN_SCALE.step(data.rain_mm_h + data.snow_mm_h), -1)
    snowing = (data.snow_mm_h > 0.0) & (data.snow_mm_h >= 0.5 * (data.rain_mm_h + data.snow_mm_h))
    rate_step = np.where(snowing & (rate_step >= 0), rate_step + len(RAIN_SCALE.colours), rate_step)
    carpets = (
        ("Optical range", RANGE_SCALE.step(data.visibility_m), RANGE_SCALE.colours, RANGE_SCALE, None),
        ("Rain and snow, mm/h of water", rate_step, (*RAIN_SCALE.colours, *SNOW_COLOURS), RAIN_SCALE, SNOW_COLOURS),
        ("Contrast of a walker's clothing with the ground, K", CONTRAST_SCALE.step(data.contrast_k),
         CONTRAST_SCALE.colours, CONTRAST_SCALE, None),
    )  # fmt: skip
    for head, step, colours, scale, second in carpets:
        y = _carpet(page, data, head, step, colours, y + 5.4)
        _key(page, y, scale, second)
    page.text(page.left, y + 5.0, shorten(TYPICAL_YEARS, page.right - page.left, style.SMALL), size=style.SMALL)
    _foot(page, y + 7.6, data.source, site)
    return page.figure


def _bars(page: Page, data: WeatherData, y: float) -> float:
    """A row of twelve bars for each class that has hours, each row on its own scale, hours on the bars; returns the y below."""
    width = 365 * 3 * PIXEL_MM
    step = width / 12
    unit = "h/yr" if data.a_year else "hours"
    page.text(X_MM + width + 13.5, y + 2.2, unit, size=style.SMALL, colour=style.SECOND, ha="right")
    y += 1.6
    for name, hours in zip(data.classes, data.months):
        if not hours.any():
            continue
        base = y + BAR_STEP_MM - 0.9
        page.text(X_MM - 1.5, base - 0.3, name, size=style.SMALL, ha="right")
        page.text(X_MM + width + 13.5, base - 0.3, whole(hours.sum()), size=style.SMALL, weight="bold", ha="right")
        page.line([X_MM, X_MM + width], [base, base], colour=style.LINE, points=0.5)
        for m, value in enumerate(hours):
            if value <= 0:
                continue
            height = BAR_MM * value / hours.max()
            most = value == hours.max()
            left = X_MM + (m + 0.14) * step
            page.rect(left, base - height, 0.30 * step, height, fill=style.INK if most else style.LINE, zorder=3)
            text = whole(value) if value >= 0.5 else "<1"
            page.text(
                left + 0.36 * step, base - 0.4, text, size=style.SMALL, weight="bold" if most else "normal",
                colour=style.INK if most else style.SECOND,
            )  # fmt: skip
        y += BAR_STEP_MM
    for m, name in enumerate(MONTHS):
        page.text(X_MM + (m + 0.5) * step, y + 2.6, name, size=style.SMALL, ha="center")
    return y + 3.6


def _carpet(page: Page, data: WeatherData, head: str, step: np.ndarray, colours: Sequence[str], y: float) -> float:
    nights = data.nights
    page.text(X_MM, y - 1.2, head, size=style.LABEL, weight="bold")
    box = Box(page, nights, X_MM, y, ROW_PX)
    box.cells(nights.grid(step, -1), colours)
    # Words beside the head, not above the gap: three carpets have the same gap, and the heads stand where they would.
    box.no_data(nights.grid(~data.known, False), words="")
    box.outline(nights.grid(data.armed, False))
    box.sun(nights.grid(data.sun_deg, np.nan), words=False)
    box.axes()
    words = ["outlined: armed hours", "dotted: sunset, sunrise", *([] if data.known.all() else ["grey dots: no data"])]
    line, how = " · ".join(words), {"size": style.SMALL, "colour": style.SECOND}
    room = box.right - X_MM - text_width_mm(head, style.LABEL, "bold") - 3.0
    if box.width >= 120.0 and text_width_mm(line, style.SMALL) < room:
        page.text(box.right, y - 1.2, line, ha="right", **how)
    elif box.right + 32.0 < page.right - 11.6:  # beside a short record there is room
        page.lines_of_text(box.right + 3.0, y + 3.0, words, 2.9, **how)
    return box.bottom + 3.6


def _key(page: Page, bottom: float, scale: Scale, second: Sequence[str] | None) -> None:
    """The steps of a scale, one above the other with their edges, right of the carpet whose lowest text is at `bottom`."""
    count, each, x = len(scale.colours), 4.0, page.right - 11.6
    middle = bottom - 3.6 - 0.5 * HOURS * ROW_PX * PIXEL_MM
    top = middle - 0.5 * each * count
    for i in range(count):
        y = top + each * (count - 1 - i if scale.upwards else i)
        page.rect(x, y, 3.0, each, fill=scale.colours[i])
        if second is not None:
            page.rect(x + 1.5, y, 1.5, each, fill=second[i])
    for i, words in enumerate(scale.words):
        y = top + each * (count - 1 - i if scale.upwards else i + 1)
        page.line([x, x + 3.6], [y, y], colour=style.LINE, points=0.5, zorder=6)
        page.text(x + 4.1, y, words, size=style.SMALL, va="center")
    page.rect(x, top, 3.0, each * count, edge=style.LINE, points=0.5, zorder=5)
    if second is not None:
        page.text(x, top - 1.0, "rain|snow", size=style.SMALL, colour=style.SECOND)


def _foot(page: Page, y: float, source: str, site: Site) -> None:
    from fencecast import __version__

    width = page.right - page.left
    page.line([page.left, page.right], [y, y], colour=style.LINE, points=0.5)
    tail = f" · fencecast {__version__} · site file {site.sha256[:8]}"
    start = f"{site.title} · {source}"
    start = shorten(start, width - text_width_mm(tail, style.SMALL), style.SMALL)
    page.text(page.left, y + 3.2, start + tail, size=style.SMALL, colour=style.SECOND)
    page.text(page.left, y + 6.3, CAUTION, size=style.SMALL)
    page.set_height(y + 6.3 + 1.0 + page.margin_mm * 0.5)
