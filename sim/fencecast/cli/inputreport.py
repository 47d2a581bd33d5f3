"""What `fencecast run --sensitivity` adds to the report: which drawn inputs drive the weakest places."""

from __future__ import annotations

from fencecast.cli.layout import LEFT, RIGHT, WHOLE, heading, paragraph, table
from fencecast.estimate.sensitivity import INPUTS, WORDS, drivers_words, listed

# Rows of one place: inputs below this total share are left to the file.
_LEAST_SHARE = 0.02


def input_report(results) -> list:
    """Heading, table and readings; nothing when the results carry no shares."""
    if "sensitivity_total" not in results:
        return []
    rows, readings = [], []
    for place, code in enumerate(results["place"].values):
        sd = float(results["sensitivity_sd"].values[place])
        weather = str(results["sensitivity_weather"].values[place])
        spread = f" Single crossings there differ by {sd:.2g} in Pd (one sigma)." if sd > 0.0 else ""
        readings.append(f"{code}, {weather}: {drivers_words(results, place)}.{spread}")
        first_row = True
        for v in listed(results, place):
            if results["sensitivity_total"].values[place, v] >= _LEAST_SHARE:
                row = [_with_interval(results, name, place, v) for name in ("first", "total")]
                rows.append([str(code) if first_row else "", WORDS[INPUTS[v]], *row])
                first_row = False
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    return [
        heading("What drives the weakest places: shares of the variance between crossings"),
        table([("at", WHOLE), ("input", LEFT), ("alone", RIGHT), ("with others", RIGHT)], rows),
        *(paragraph(text) for text in readings),
        paragraph(
            f"Per cent, with {confidence} intervals; with others: alone and together with other inputs, so that these add up to "
            f"more than 100. Inputs below {100 * _LEAST_SHARE:g} % are in results.nc. What the site fixes (N50, threshold, lens) "
            "has no share: the table of changes above asks for N50 and NETD.",
            "dim",
        ),
    ]


def _with_interval(results, name: str, place: int, v: int) -> str:
    """A share with its interval in per cent, cut to 0 and 100: '52 (47 to 57)'."""
    ends = [float(results[f"sensitivity_{name}{end}"].values[place, v]) for end in ("", "_low", "_high")]
    value, low, high = (f"{100 * min(max(end, 0.0), 1.0):.0f}" for end in ends)
    return f"{value} ({low} to {high})"
