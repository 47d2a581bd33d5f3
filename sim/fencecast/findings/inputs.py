"""What `fencecast run --sensitivity` says: which drawn inputs drive the weakest places."""

from __future__ import annotations

from fencecast.estimate.results import Results
from fencecast.estimate.sensitivity import INPUTS, WORDS, drivers_words, listed
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, UNBROKEN, Block, Heading, Line, Table
from fencecast.findings.words import confidence_text

# Of a share whose interval holds 0.
CANNOT_TELL = "cannot tell"
# Rows of one place: inputs below this total share are left to the file.
_LEAST_SHARE = 0.02


def input_blocks(results: Results) -> list[Block]:
    """Heading, table and readings; nothing when the results carry no shares."""
    if "sensitivity_total" not in results:
        return []
    rows, readings = [], []
    for place, code in enumerate(str(code) for code in results["place"].values):
        sd, weather = float(results.at("sensitivity_sd", place=place)), results.at("sensitivity_weather", place=place)
        spread = f" Single crossings there differ by {sd:.2g} in Pd (one sigma)." if sd > 0.0 else ""
        readings.append(f"{code}, {weather}: {drivers_words(results, place)}.{spread}")
        shown = [v for v in listed(results, place) if results.at("sensitivity_total", place=place, variable=v) >= _LEAST_SHARE]
        for k, v in enumerate(shown):
            shares = [_with_interval(results, name, place, v) for name in ("first", "total")]
            rows.append([code if k == 0 else "", WORDS[INPUTS[v]], *shares])
    return [
        Heading("What drives the weakest places: shares of the variance between crossings"),
        Table.of([("at", UNBROKEN), ("input", LEFT), ("alone", RIGHT), ("with others", RIGHT)], rows),
        *(Line(text) for text in readings),
        Line(
            f"Per cent, with {confidence_text(results.confidence)} intervals; with others: alone and together with other inputs, "
            f"so that these add up to more than 100. Inputs below {100 * _LEAST_SHARE:g} % are in results.nc. What the site "
            "fixes (N50, threshold, lens) has no share: the table above has the changes with N50 and NETD.",
            NOTE,
        ),
    ]


def _with_interval(results: Results, name: str, place: int, v: int) -> str:
    """A share with its interval in per cent, cut to 0 and 100: '52 (47 to 57)'; 'cannot tell (up to 9)' where it holds 0."""
    ends = [results.at(f"sensitivity_{name}{end}", place=place, variable=v) for end in ("", "_low", "_high")]
    value, low, high = (f"{100 * min(max(end, 0.0), 1.0):.0f}" for end in ends)
    return f"{value} ({low} to {high})" if ends[1] > 0.0 else f"{CANNOT_TELL} (up to {high})"
