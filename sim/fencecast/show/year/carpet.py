"""The year carpet: Pd of one segment in every armed hour of a year, night by night (`year-carpet.png`)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from fencecast.estimate.places import code_of
from fencecast.estimate.results import Results
from fencecast.findings.condition import condition_of, of_hours
from fencecast.findings.weakhours import SUNNY_DEG, hour_numbers, never_met, sunny_share
from fencecast.findings.words import armed_hours_text, requirement_text, whole
from fencecast.hours.weakhours import meets_at_best, named_segment, pd_of_hours, state_variable
from fencecast.meteorology.year import LEAST_YEARS
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM, ramp_key
from fencecast.show.paper.page import Page, wrap
from fencecast.show.paper.pixels import PIXEL_MM
from fencecast.show.paper.style import fence7
from fencecast.show.year.nights import LONG_MONTHS, MONTHS, Box, Nights, month_of, nights_of, year_of_most

X_MM = 18.0
# Device pixels an hour: 2.54 mm with one carpet, 1.4 mm when working and rest days have one each.
ONE_ROW_PX, TWO_ROWS_PX = 20, 11
BARS_MM = 19.0
# Under the hours of a run on a condition: neutral, and by lightness apart from the pale steps of Pd and from the orange one.
OTHER_HOURS = "#C5C5C5"
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Weak:
    """One segment's hours: pd (hours,) NaN where an hour does not count; weak and all counted hours by month (12,).

    interval: hours below the requirement with both ends, on fresh crossings when there are any (`fresh`), because the weakest of
    many segments looks weaker than it is. Hours are those a year (`a_year`), or those of the record when it is much shorter.
    """

    segment: int
    at_best: bool
    pd: np.ndarray
    weak: np.ndarray
    counted: np.ndarray
    interval: tuple[float, float, float]
    fresh: bool
    a_year: bool

    def of_hours(self, results) -> str:
        """`4,332 armed hours a year`, and where the record has gaps how many are armed in all."""
        counted = self.counted.sum()
        armed = counted * float(results["armed_hours"].values) / max(float(results["known_armed_hours"].values), 1e-9)
        return armed_hours_text(counted, armed, self.a_year)


def weak_year(results) -> Weak | None:
    """The segment that the carpet shows, with its hours; None when no segment is watched.

    It is the weakest of those that meet the requirement in some state of the weather (one that is always weak makes a flat,
    useless carpet), else the weakest of all.
    """
    segment = named_segment(results)
    if segment is None:
        return None

    counts = results["hour_armed"].values & results["hour_known"].values
    hours = np.bincount(month_of(results["hour_time"].values)[counts], minlength=12).astype(float)
    years = hours.sum() / max(float(results["known_armed_hours"].values), 1e-9)
    a_year = years >= LEAST_YEARS
    per = 1.0 if a_year else years

    *interval, fresh = hour_numbers(results, segment)
    return Weak(
        segment=segment,
        at_best=bool(meets_at_best(results)[segment]),
        pd=pd_of_hours(results, segment),
        weak=per * results["weak_hours_month"].values[segment],
        counted=hours * per / years,
        interval=tuple(per * hours for hours in interval),
        fresh=fresh,
        a_year=a_year,
    )


def plot_year_carpet(results) -> Figure:
    """One column a night, noon to noon, Pd in steps; below, the share of armed hours under the requirement by month."""
    results = Results.of(results)
    if "pd_state" not in results:
        raise ValueError("these results have no hours; run a site with a [weather_file]")
    page = Page()
    year = weak_year(results)
    ramp = fence7(float(results.attrs["requirement_pd"]))
    time = results["hour_time"].values
    if year is None:
        y = page.heading("No segment is watched: there is no Pd by the hour", "Year carpet", results.attrs)
        page.foot(y + 4.0, results.attrs)
        return page.figure
    below = np.nan_to_num(year.pd, nan=1.0) < ramp.requirement
    nights, which = year_of_most(nights_of(time), below.astype(float))
    y = page.heading(carpet_title(results, year), _subtitle(results, year, which), results.attrs) + 6.0
    armed = nights.grid(results["hour_armed"].values, False)
    # Chosen hours have no frame of arming, so that there is none to be told apart by weekday.
    groups = [tuple(range(7))] if condition_of(results.attrs) else arming_groups(nights, armed)
    for days in groups:
        chosen = nights.part(np.isin(_weekday(nights), days)) if len(groups) > 1 else nights
        if len(groups) > 1:
            page.text(X_MM, y - 1.2, _days_words(days), weight="bold")
        y = _carpet(page, results, year, chosen, ramp, y, alone=len(groups) == 1)
        y += 7.0 if days is not groups[-1] else 0.0
    y = _bars(page, year, ramp, nights, y + 4.0, "these" if condition_of(results.attrs) else "armed")
    y = _key(page, results, year, nights, ramp, y + 3.0)
    lines = wrap(sun_words(results), page.right - page.left, style.SMALL)
    y = page.lines_of_text(page.left, y + 3.4, lines, 2.9, size=style.SMALL, colour=style.SECOND) - 3.4
    page.foot(y + 3.0, results.attrs)
    return page.figure


def carpet_title(results, year: Weak) -> str:
    """`A 49–51 m is below 0.90 in 1,230 of 4,332 armed hours a year, most in July`."""
    results = Results.of(results)
    code = code_of(results, results.sections, year.segment, year.segment)
    need = requirement_text(float(results.attrs["requirement_pd"]))
    all_hours = of_hours(results.attrs, year.of_hours(results))
    hours = year.interval[0]
    if hours < 0.5:
        return f"The weakest segment, {code}, is below {need} in none of {all_hours}"
    if hours >= year.counted.sum() - 0.5:
        return f"{code} is below {need} in each of {all_hours}"
    return f"{code} is below {need} in {whole(hours)} of {all_hours}, most in {LONG_MONTHS[int(year.weak.argmax())]}"


def hours_lines(results, width_mm: float) -> list[str]:
    """The carpet's finding for the summary sheet, with its interval, in one line where it fits; [] for results without hours."""
    results = Results.of(results)
    year = weak_year(results) if "pd_state" in results else None
    if year is None:
        return []
    code = code_of(results, results.sections, year.segment, year.segment)
    hours, low, high = year.interval
    number = "none" if hours < 0.5 else "each" if hours >= year.counted.sum() - 0.5 else whole(hours)
    start = (
        "Weakest of what meets the requirement at times" if year.at_best and never_met(results) else "Hour by hour, the weakest"
    )
    text = f"{start}: {code}, below {requirement_text(float(results.attrs['requirement_pd']))} in {number} "
    text += f"({whole(low)} to {whole(high)}) of {year.of_hours(results)}"
    full = f"{text}, most in {LONG_MONTHS[int(year.weak.argmax())]}." if hours >= 0.5 else f"{text}."
    lines = wrap(full, width_mm, style.SUBTITLE)
    return lines if len(lines) == 1 else wrap(f"{text}.", width_mm, style.SUBTITLE)


def sun_words(results) -> str:
    """What is left out where hours that count have a high sun; '' where hardly any has."""
    results = Results.of(results)
    share = sunny_share(results) if "hour_sun_elevation_deg" in results else 0.0
    if share <= 0.0:
        return ""
    which = "these" if condition_of(results.attrs) else "the armed"
    return (
        f"In {100.0 * share:.0f} % of {which} hours the sun is above {SUNNY_DEG:g} degrees. Sun on clothing, up to some 8 K, is "
        "left out: people by day are simulated too cold."
    )


def _subtitle(results, year: Weak, which: str) -> str:
    kind = (
        "The weakest segment of those that meet the requirement in some weather"
        if year.at_best
        else ("The weakest segment; none meets the requirement in any weather")
    )
    span = "a year" if year.a_year else "the record"
    text = f"{kind}, hour by hour through {which or span}: one column a night, from noon to noon. "
    text += f"{100 * float(results.attrs['confidence']):g} % interval of its hours: "
    text += f"{whole(year.interval[1])} to {whole(year.interval[2])}"
    return text + (" (fresh crossings)" if year.fresh else "")


def arming_groups(nights: Nights, armed: np.ndarray) -> list[tuple[int, ...]]:
    """Weekdays on which nights begin (0 is Monday), in one group, or in two when arming goes by the week.

    armed (24, nights). The first group has the arming that most weekdays have, the second the rest.
    """
    weekday = _weekday(nights)
    share = [armed[:, weekday == day].mean(axis=1) if (weekday == day).any() else None for day in range(7)]
    # Arming by the sun drifts by a night or two between weekdays; arming by the week turns whole hours on and off.
    alike = [
        tuple(k for k in range(7) if share[k] is None or share[day] is None or np.abs(share[k] - share[day]).max() <= 0.5)
        for day in range(7)
    ]
    usual = max(alike, key=len)
    rest = tuple(day for day in range(7) if day not in usual)
    return [usual, rest] if rest and nights.count >= 14 else [tuple(range(7))]


def _weekday(nights: Nights) -> np.ndarray:
    return (nights.dates.astype(int) + 3) % 7  # day 0 of the calendar, 1970-01-01, was a Thursday


def _days_words(days: tuple[int, ...]) -> str:
    """`Nights that begin Mon to Thu`."""
    if len(days) > 2 and days[-1] - days[0] == len(days) - 1:
        return f"Nights that begin {DAYS[days[0]]} to {DAYS[days[-1]]}"
    return f"Nights that begin {', '.join(DAYS[day] for day in days)}"


def _carpet(page: Page, results, year: Weak, nights: Nights, ramp, y: float, alone: bool) -> float:
    box = Box(page, nights, X_MM, y, ONE_ROW_PX if alone else TWO_ROWS_PX)
    step = np.array([ramp.step(pd) if not np.isnan(pd) else -1 for pd in year.pd])
    chosen = bool(condition_of(results.attrs))
    box.cells(nights.grid(step, -1), ramp.colours, OTHER_HOURS if chosen else style.PAPER)
    box.no_data(nights.grid(~results["hour_known"].values, False), "no weather data" if alone else "")
    if not chosen:  # round single hours an outline would leave nothing of their colour
        box.outline(nights.grid(results["hour_armed"].values, False))
    if "hour_sun_elevation_deg" in results:
        box.sun(nights.grid(results["hour_sun_elevation_deg"].values.astype(float), np.nan), casing=not chosen)
    if not chosen:
        middle = 0.5 * (box.y + box.bottom)
        page.text(box.right + 1.8, middle - 0.4, "armed hours", size=style.SMALL, weight="bold")
        page.text(box.right + 1.8, middle + 2.5, "outlined", size=style.SMALL, colour=style.SECOND)
    return box.axes()


def _bars(page: Page, year: Weak, ramp, nights: Nights, y: float, which: str) -> float:
    """Share of each month's armed hours below the requirement, hours on the bars; returns the y below. which: armed or these."""
    width = 365 * 3 * PIXEL_MM
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(year.counted > 0, year.weak / year.counted, np.nan)
    largest = np.nanmax(share, initial=0.0)
    top = next(top for top in (0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0) if largest <= top)
    words = f"share of {which} hours below {requirement_text(ramp.requirement)}, %"
    page.text(X_MM, y + 2.4, words)
    base = y + 6.6 + BARS_MM
    for level in (0.0, 0.5 * top, top):
        height = base - BARS_MM * level / top
        page.line([X_MM, X_MM + width], [height, height], colour=style.GUIDE if level else style.INK, points=0.5, zorder=1)
        page.text(X_MM - 1.5, height, f"{100 * level:g}", size=style.SMALL, colour=style.SECOND, ha="right", va="center")
    step = width / 12
    first = int(nights.dates[min(15, nights.count - 1)].astype("datetime64[M]").astype(int)) % 12
    for k in range(12):
        m = (first + k) % 12
        middle = X_MM + (k + 0.5) * step
        page.text(middle, base + 3.2, MONTHS[m], size=style.SMALL, ha="center")
        if np.isnan(share[m]):
            continue
        most = year.weak[m] == year.weak.max() > 0
        height = BARS_MM * share[m] / top
        page.rect(middle - 0.36 * step, base - height, 0.72 * step, height, fill=style.INK if most else style.LINE, zorder=3)
        page.text(
            middle, base - height - 0.9, f"{whole(year.weak[m])} h", size=style.SMALL, ha="center", plate=True,
            weight="bold" if most else "normal",
        )  # fmt: skip
    return base + 3.6


def _key(page: Page, results, year: Weak, nights: Nights, ramp, y: float) -> float:
    bottom = ramp_key(page, page.left, y, 84.0, ramp)
    x, top = page.left + 100.0, y + 3.6
    width, height = SWATCH_MM
    x2 = x
    if not results["hour_known"].values.all():
        page.no_data([(x, top), (x + width, top), (x + width, top + height), (x, top + height)])
        page.text(x + width + 1.8, top + 2.3, "no weather data")
        x2 += 38.0
    page.line([x2, x2 + 9.0], [top + 1.5] * 2, points=0.9, dashes=(1.0, 1.2))
    page.text(x2 + 10.8, top + 2.3, "sunset, sunrise")
    states = np.unique(results["hour_state"].values[results["hour_state"].values >= 0])
    name = state_variable(results, year.segment)
    low, high = (results[f"{name}_{end}"].values[states, year.segment] for end in ("low", "high"))
    half = float(np.nanmax(0.5 * (high - low), initial=0.0))
    said = [f"each cell: one hour, point estimate; states' half width up to {half:.2f}"]
    if condition_of(results.attrs):
        said.append("grey: all other hours; which of them are armed is not drawn")
    elif (nights.used & results["hour_known"].values & ~results["hour_armed"].values).any():
        said.append("outside the black outline: hours that are not armed, left white")
    lines = [line for text in said for line in wrap(text, page.right - x, style.SMALL)]
    y = page.lines_of_text(x, top + 6.6, lines, 2.9, size=style.SMALL, colour=style.SECOND)
    return max(bottom, y - 2.4)
