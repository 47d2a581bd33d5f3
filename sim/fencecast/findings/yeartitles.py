"""What pictures and the sheet say of a year of hours: the weakest segment hour by hour, sun, fog by optical range, the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.places import code_of
from fencecast.estimate.results import Results
from fencecast.findings.condition import condition_of, of_hours
from fencecast.findings.weakhours import MONTHS, SUNNY_DEG, hour_numbers, never_met, sunny_share
from fencecast.findings.words import armed_hours_text, confidence_text, feet, first_upper, requirement_text, whole
from fencecast.hours.weakhours import meets_at_best, named_segment, pd_of_hours
from fencecast.meteorology.sorting import RULES, class_of_hours
from fencecast.meteorology.stress import clock_of
from fencecast.meteorology.year import LEAST_YEARS, Year

TYPICAL_YEARS = "Typical years smooth out bad fog: before you rely on a calm one, run several years as they were measured."


def month_of(time: np.ndarray) -> np.ndarray:
    """Calendar month of each hour, 0 for January (hours,)."""
    return clock_of(np.asarray(time))[0] - 1


@dataclass(frozen=True, eq=False)
class Weak:
    """One segment's hours: pd (hours,) NaN where an hour does not count; weak and all counted hours by month (12,).

    interval: hours below the requirement with both ends, on fresh crossings when there are any (`fresh`), because the weakest of
    many segments looks weaker than it is. Hours are those a year (`a_year`), or those of the record when it is much shorter.
    of_hours: `4,332 armed hours a year`, and where the record has gaps how many are armed in all.
    """

    segment: int
    code: str
    at_best: bool
    pd: np.ndarray
    weak: np.ndarray
    counted: np.ndarray
    interval: tuple[float, float, float]
    fresh: bool
    a_year: bool
    of_hours: str


def weak_year(results: Results) -> Weak | None:
    """The segment that the carpet shows, with its hours; None when no segment is watched.

    It is the weakest of those that meet the requirement in some state of the weather (one that is always weak makes a flat,
    useless carpet), else the weakest of all.
    """
    results = Results.of(results)
    segment = named_segment(results)
    if segment is None:
        return None
    counts = results.array("hour_armed", "hour") & results.array("hour_known", "hour")
    hours = np.bincount(month_of(results.array("hour_time", "hour"))[counts], minlength=12).astype(float)
    known, armed = float(results.at("known_armed_hours")), float(results.at("armed_hours"))
    years = hours.sum() / max(known, 1e-9)
    a_year = years >= LEAST_YEARS
    per = 1.0 if a_year else years
    middle, low, high, fresh = hour_numbers(results, segment)
    counted = hours * per / years
    return Weak(
        segment=segment,
        code=code_of(results, results.sections, segment, segment),
        at_best=bool(meets_at_best(results)[segment]),
        pd=pd_of_hours(results, segment),
        weak=per * results.at("weak_hours_month_fresh" if fresh else "weak_hours_month", segment=segment),
        counted=counted,
        interval=(per * middle, per * low, per * high),
        fresh=fresh,
        a_year=a_year,
        of_hours=armed_hours_text(counted.sum(), counted.sum() * armed / max(known, 1e-9), a_year),
    )


def carpet_title(results: Results, year: Weak) -> str:
    """`A 49–51 m is below 0.90 in 1,230 of 4,332 armed hours a year, most in July`."""
    need = requirement_text(results.requirement)
    all_hours = of_hours(results.attrs, year.of_hours)
    hours = year.interval[0]
    if hours < 0.5:
        return f"The weakest segment, {year.code}, is below {need} in none of {all_hours}"
    if hours >= year.counted.sum() - 0.5:
        return f"{year.code} is below {need} in each of {all_hours}"
    return f"{year.code} is below {need} in {whole(hours)} of {all_hours}, most in {MONTHS[int(year.weak.argmax())]}"


def carpet_subtitle(results: Results, year: Weak, which: str) -> str:
    """What the carpet shows, and the interval of its hours. which: the year of a longer record that is drawn, or ''."""
    kind = (
        "The weakest segment of those that meet the requirement in some weather"
        if year.at_best
        else "The weakest segment; none meets the requirement in any weather"
    )
    span = "a year" if year.a_year else "the record"
    text = f"{kind}, hour by hour through {which or span}: one column a night, from noon to noon. "
    text += f"{confidence_text(results.confidence)} interval of its hours: {whole(year.interval[1])} to {whole(year.interval[2])}"
    return text + (" (fresh crossings)" if year.fresh else "")


def hours_sentences(results: Results) -> list[str]:
    """The carpet's finding with its interval, in full and without the month, to choose by room; [] for results without hours."""
    results = Results.of(results)
    year = weak_year(results) if "pd_state" in results else None
    if year is None:
        return []
    hours, low, high = year.interval
    number = "none" if hours < 0.5 else "each" if hours >= year.counted.sum() - 0.5 else whole(hours)
    start = (
        "Weakest of what meets the requirement at times" if year.at_best and never_met(results) else "Hour by hour, the weakest"
    )
    text = f"{start}: {year.code}, below {requirement_text(results.requirement)} in {number} "
    text += f"({whole(low)} to {whole(high)}) of {year.of_hours}"
    full = f"{text}, most in {MONTHS[int(year.weak.argmax())]}." if hours >= 0.5 else f"{text}."
    return [full, f"{text}."]


def sun_words(results: Results) -> str:
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


# --- fog by optical range ----------------------------------------------------------------------------------------------


def meets_from(ranges: np.ndarray, low: np.ndarray, need: float) -> float | None:
    """The shortest of the simulated optical ranges from which on every longer one has its full interval at or above `need`."""
    below = np.flatnonzero(low < need)
    first = 0 if not len(below) else int(below[-1]) + 1
    return float(ranges[first]) if first < len(ranges) else None


def range_m_text(range_m: float, units: str = "si") -> str:
    """`150 m`, `2 km`; with units 'us' the feet follow."""
    text = f"{range_m:g} m" if range_m < 1000 else f"{range_m / 1000:g} km"
    return f"{text} ({whole(feet(range_m))} ft)" if units == "us" else text


def fog_words(small_m: float | None, large_m: float | None, reached_m: float | None, units: str) -> str:
    """What a bar says of one kind of fog; the numbers are those of a `FogStart`."""
    if small_m is None and large_m is None:
        return "nowhere" if reached_m is None else f"undecided from {range_m_text(reached_m, units)}"
    if small_m is None:
        return f"from {range_m_text(large_m, units)} with large drops, undecided with small"
    if large_m is None:
        return f"from {range_m_text(small_m, units)} with small drops, nowhere with large"
    if small_m == large_m:
        return f"from {range_m_text(small_m, units)}, whatever the drops"
    return f"from {range_m_text(small_m, units)} with small drops, {range_m_text(large_m, units)} with large"


@dataclass(frozen=True)
class FogStart:
    """From which optical range on the requirement is shown to be met in one kind of fog, with small and with large drops [m],
    None where it is not; reached_m: from where the curve for small drops is at or above it, whatever its interval, or None."""

    kind: str
    small_m: float | None
    large_m: float | None
    reached_m: float | None

    @property
    def shown(self) -> bool:
        return self.small_m is not None or self.large_m is not None

    def words(self, units: str) -> str:
        """Below its bar."""
        return fog_words(self.small_m, self.large_m, self.reached_m, units)


def _in_title(start: FogStart) -> str:
    """'from 330 m in radiation fog of small drops (large: 1 km)': metres alone, feet too would not fit into a title."""
    if not start.shown:
        return f"{'nowhere' if start.reached_m is None else 'undecided'} in {start.kind} fog"
    small = "undecided" if start.small_m is None else f"from {range_m_text(start.small_m)}"
    large = "nowhere" if start.large_m is None else range_m_text(start.large_m)
    return f"{small} in {start.kind} fog" + ("" if start.small_m == start.large_m else f" of small drops (large: {large})")


def optical_range_title(places: Sequence[tuple[str, Sequence[FogStart]]], need: float, units: str) -> str:
    """`The fence's mean Pd is shown to meet 0.90 from 100 m in radiation fog of small drops (large: 220 m), ...`.

    places: a place in words with its kinds of fog, those of its bars; the fence first. The first with anything to say is named.
    """
    held = f"is shown to meet {requirement_text(need)}"
    for subject, kinds in places:
        if not any(start.shown for start in kinds):
            continue
        words = {start.words(units) for start in kinds}
        if len(words) == 1:
            return f"Fog: {subject} {held} {words.pop()}"
        return first_upper(f"{subject} {held} {', '.join(_in_title(start) for start in kinds)}")
    first, second = (subject for subject, _ in places)
    return f"Fog: neither {first} nor {second} {held} (full interval) from any simulated optical range on"


OPTICAL_RANGE_SUBTITLE = (
    "Pd against meteorological optical range (5 % contrast to the eye). Line: median drops of the kind of fog; "
    "band: from drops that 10 % of such fogs fall below (upper edge) to those of 90 %"
)


def optical_range_note(results: Results) -> str:
    """Drop sizes, what else the fogs have, widths of intervals, and what the bars mean."""
    kinds = [str(kind) for kind in results["fog_kind"].values]
    bases = dict.fromkeys(str(words) for words in results["fog_base"].values)
    if len(bases) > 1 and list(bases) == [f"the record's armed hours of {kind} fog" for kind in kinds]:
        bases = dict.fromkeys(["the record's armed hours of each kind of fog"])
    fence, segment = (
        float(np.max(0.5 * (results[f"{name}_high"].values - results[f"{name}_low"].values)))
        for name in ("pd_fog", "pd_fog_segment")
    )
    drops = "; ".join(
        f"{kind} {radii[0]:.1f}, {radii[1]:.1f}, {radii[2]:.1f} µm" for kind, radii in zip(kinds, results["fog_drop_um"].values)
    )
    return (
        f"Effective drop radius at 10, 50, 90 %: {drops} (judgement). All else as in {' and '.join(bases)}. Curves join "
        f"simulated optical ranges; half width of their intervals at most {fence:.2f} for the fence, "
        f"{segment:.2f} for the segment. Bars: simulated ranges from which on the full interval is at or above "
        "the requirement, solid with any drops, hatched with small ones only. In thin fog the two kinds differ by the "
        "hours in which they happen, not by their drops."
    )


# --- the record of a weather file --------------------------------------------------------------------------------------


def record_divisor(year: Year) -> float:
    """What hours of a record are divided by: its years, or 1 when it is much shorter than one (see LEAST_YEARS)."""
    return year.period_years if year.period_years >= LEAST_YEARS else 1.0


def class_months(year: Year) -> np.ndarray:
    """Counted hours of every weather class by calendar month, (classes, 12); a year, or of a record much shorter than one."""
    index = class_of_hours(year)
    months = [np.bincount(month_of(year.records.time[index == k]), minlength=12) for k in range(len(RULES))]
    return np.array(months) / record_divisor(year)


def weather_title(year: Year) -> str:
    """`Fog in 142 of 4,332 armed hours a year, most in November; near crossover 410`."""
    names, months = [rule.name for rule in RULES], class_months(year)
    total = months.sum()
    of_all = armed_hours_text(total, year.armed.sum() / record_divisor(year), year.period_years >= LEAST_YEARS)
    if total == 0:
        return "No armed hour is known: there is nothing to sort"
    fog = months[names.index("fog")] + months[names.index("dense fog")]
    crossover = months[names.index("near crossover")].sum()
    if fog.sum() >= 0.5:
        title = f"Fog in {whole(fog.sum())} of {of_all}, most in {MONTHS[int(fog.argmax())]}"
    else:
        title = f"No fog in {of_all}"
    return f"{title}; near crossover {whole(crossover)}" if crossover >= 0.5 else f"{title}; never near crossover"
