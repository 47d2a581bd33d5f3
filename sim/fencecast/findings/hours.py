"""What `run` says of a site with hourly weather: the record, the hours that count, and how many of them are weak."""

from __future__ import annotations

from fencecast.estimate.results import Results
from fencecast.findings.blocks import NOTE, Block, Heading, Line
from fencecast.findings.weakhours import weak_hours_summary, weak_hours_words
from fencecast.findings.weather import TYPICAL_YEARS


def hours_blocks(results: Results) -> list[Block]:
    """Heading and sentences; nothing for a site without hourly weather."""
    if "pd_state" not in results:
        return []
    notes = [line for line in str(results.attrs.get("weather_notes", "")).split("\n") if line]
    read = f"Record: {results.attrs['weather_source']}."
    if notes:
        read += f" {len(notes)} thing{'' if len(notes) == 1 else 's'} in it not taken as written: see fencecast weather."
    how = (
        f"{results.sizes['state']} hours of the record are simulated, on shared crossings; the Pd of every other armed hour is "
        "estimated from those like it. Intervals of counts include how far that may be off, judged by how well these hours "
        "predict each other, and take errors of hours to go the same way. Where Pd is near the requirement in most hours, they "
        "are wide."
    )
    return [
        Heading("When in the year: hours below the requirement"),
        *(Line(sentence) for sentence in weak_hours_words(results)),
        Line(read, NOTE),
        Line(f"{how} {TYPICAL_YEARS}", NOTE),
    ]


def hours_object(results: Results) -> dict:
    """What `run --json` adds for a site with hourly weather."""
    if "pd_state" not in results:
        return {}
    return {
        "weather_source": str(results.attrs["weather_source"]),
        "stress": str(results.attrs["stress"]),
        "weak_hours": weak_hours_summary(results),
    }
