"""What is said of results whose N50 and correlation were calibrated by walks: by which, how well, what it leaves open.

Tests: tests/findings/test_calibrated_words.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.cautions import NOT_MODELLED
from fencecast.estimate.results import Results
from fencecast.findings.words import in_class, listed, plural
from fencecast.site import Site
from fencecast.site.calibration import Calibration

WIDE = 0.5  # an interval of the correlation (0 to 0.9) as wide as this says hardly anything
UNWALKED = "A place that nobody walked has a shift of its own: its metres have the wider, outer band, and their verdicts use it."


def calibration_of(results: Results) -> Calibration | None:
    """The calibration that the results rest on; None where the site file has none."""
    return results.site.calibration


def is_calibrated(results: Results) -> bool:
    """Whether walks have calibrated the site of the results."""
    return results.site.calibration is not None


def by_what(found: Calibration) -> str:
    """`36 walks at 6 places by 2 walkers, 2026-11-29, in clear night`."""
    days = list(found.dates)
    when = listed(days) if len(days) <= 3 else f"{len(days)} days from {min(days)} to {max(days)}"
    return f"{_counts(found)}, {when}, {_weather(found)}"


def _counts(found: Calibration) -> str:
    walks, places, walkers = (
        figures(*each) for each in ((found.walks, "walk"), (found.places, "place"), (found.walkers, "walker"))
    )
    return f"{walks} at {places} by {walkers}"


def _weather(found: Calibration) -> str:
    return listed([in_class(name) for name in found.weather])


def figures(number: int, noun: str) -> str:
    """`36 walks`, `1 place`: in figures."""
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def n50_text(site: Site) -> str:
    """`2.6 (2.2 to 3.1)` cycles, with the calibration's own ends."""
    found = site.calibration
    assert found is not None
    return f"{found.median_cycles_50:.2g} ({found.cycles_50_low:.2g} to {found.cycles_50_high:.2g})"


def correlation_text(site: Site) -> str:
    """`0.31 (0.02 to 0.66)`."""
    found = site.calibration
    assert found is not None
    return f"{found.mean_correlation:.2f} ({found.correlation_low:.2f} to {found.correlation_high:.2f})"


def hardly_known(found: Calibration) -> bool:
    """Whether the walks left the correlation nearly as wide as it was."""
    return found.correlation_high - found.correlation_low >= WIDE


def calibrated_lines(results: Results) -> list[str]:
    """For the head of a report: that N50 is calibrated and by what, and what unwalked places have; none without a calibration."""
    found = calibration_of(results)
    if found is None:
        return []
    hardly = " The walks say hardly anything of the correlation." if hardly_known(found) else ""
    first = (
        f"N50 and encounter correlation are calibrated by {by_what(found)}: N50 {n50_text(results.site)} resolved cycles, "
        f"correlation {correlation_text(results.site)}.{hardly}"
    )
    return [first, UNWALKED]


def client_calibrated_lines(results: Results) -> list[str]:
    """The same without numbers that say how to pass, and without days."""
    found = calibration_of(results)
    if found is None:
        return []
    days = plural(len(found.dates), "day")
    return [
        f"What the analytics need is calibrated by {_counts(found)} on {days}, {_weather(found)}.",
        "Places that nobody walked have the wider, outer band, and their verdicts use it.",
    ]


def limits_told(limits: Sequence[str], results: Results) -> tuple[str, ...]:
    """What the model leaves out, where two of its sentences are no longer true once walks have calibrated N50 and correlation."""
    found = calibration_of(results)
    if found is None:
        return tuple(limits)
    walks = f"{figures(found.walks, 'walk')} {_weather(found)}"
    alike = "they say hardly anything of it" if hardly_known(found) else "its interval is in every band"
    law = (
        f"A resolution law for human observers stands in for analytics: {walks} calibrated its N50, which takes up all that the "
        "law gets wrong for these walkers on this site; the shape of the law is not calibrated."
    )
    pair = f"How alike two cameras judge one intruder (encounter correlation) rests on the same walks; {alike}."
    told = tuple({NOT_MODELLED[0]: law, NOT_MODELLED[1]: pair}.get(line, line) for line in limits)
    others = (
        "Of weather that was not walked drop sizes, wet windows and dress, and in all weather threshold and clutter, are as the "
        "site file says."
    )
    return (*told, others, UNWALKED)


def spread_percent(found: Calibration) -> str:
    """`−15 to +19 %`: the interval of N50 about its median."""
    ends = [100.0 * (end / found.median_cycles_50 - 1.0) for end in (found.cycles_50_low, found.cycles_50_high)]
    low, high = (f"{end:+.0f}".replace("-", "−") for end in ends)
    return f"{low} to {high} %"


def known_to(found: Calibration) -> str:
    """What is left of N50, beside what 10 % of it would move."""
    return f"The walks leave N50 uncertain by {spread_percent(found)} (95 %); that is in the bands already."
