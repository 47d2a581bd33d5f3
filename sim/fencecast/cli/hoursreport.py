"""What `run` says of a site with hourly weather: the record, the hours that count, and how many of them are weak."""

from __future__ import annotations

from fencecast.cli.layout import heading, paragraph
from fencecast.findings.weakhours import weak_hours_summary, weak_hours_words
from fencecast.show.year.weathersummary import TYPICAL_YEARS


def hours_report(results) -> list:
    """The parts for `output.say`; nothing for a site without hourly weather."""
    if "pd_state" not in results:
        return []
    notes = [line for line in str(results.attrs["weather_notes"]).split("\n") if line]
    read = f"Record: {results.attrs['weather_source']}."
    if notes:
        read += f" {len(notes)} thing{'' if len(notes) == 1 else 's'} in it not taken as written: see fencecast weather."
    how = (
        f"Every armed hour has a Pd told from {results.sizes['state']} states that happened, most from those like it, simulated "
        "on shared crossings. Intervals of counts include how far that may be off, judged by how well these states tell each "
        "other, and take errors of hours to go the same way. Where Pd is near the requirement in most hours they are wide."
    )
    return [
        heading("When in the year: hours below the requirement"),
        *(paragraph(sentence) for sentence in weak_hours_words(results)),
        paragraph(read, "dim"),
        paragraph(f"{how} {TYPICAL_YEARS}", "dim"),
    ]


def hours_summary(results) -> dict:
    """What `run --json` adds for a site with hourly weather."""
    if "pd_state" not in results:
        return {}
    return {
        "weather_source": str(results.attrs["weather_source"]),
        "stress": str(results.attrs["stress"]),
        "weak_hours": weak_hours_summary(results),
    }
