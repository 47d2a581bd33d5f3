"""What the answer depends on: ten per cent of what is not sure, what drives the weakest places, yards as built."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.estimate.sensitivity import drivers_words
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.calibration import calibration_of, judged_words
from fencecast.findings.dependence import FACTORS, Dependence, dependence_sentence, dependences
from fencecast.findings.installations import installation_blocks
from fencecast.findings.words import in_class, signed
from fencecast.report.sections.section import Body, Source

_STEP = math.log(1.1)
_SMALL = 0.0005  # a change that three decimals do not show
_HEADS = {
    "n50": "10 % more detail needed (N50)",
    "clutter": "10 % more ground clutter",
    "threshold": "10 % higher threshold",
    "netd": "10 % more noise (NETD)",
}


@dataclass(frozen=True)
class Depends:
    """blocks: the table of ten per cent and what it means; drivers: place and words; built: yards as built."""

    blocks: tuple[Block, ...]
    drivers: tuple[tuple[str, str], ...]
    built: tuple[Block, ...]


def depends_of(source: Source) -> Body | None:
    """The section; None when results hold nothing of it."""
    results = source.results
    found = dependences(results) if "dpd_dln_clutter" in results else []
    drivers = _drivers(results)
    built = installation_blocks(results)
    if not (found or drivers or built):
        return None
    blocks = _table(found, calibration_of(results.attrs)) if found else []
    return Body("What the answer depends on", _finding(found), Depends(tuple(blocks), tuple(drivers), tuple(built)))


def _finding(found: Sequence[Dependence]) -> str:
    """`If the analytics need 10 % more detail than assumed, the mean Pd moves by −0.012 in heavy rain.`"""
    if not found:
        return ""
    start = "If the analytics need 10 % more detail than assumed, the mean Pd moves by"
    known = [each for each in found if each.known("n50")]
    if not known:
        return ""
    most = max(known, key=lambda each: abs(each.slopes["n50"]))
    change = _STEP * most.slopes["n50"]
    if abs(change) < _SMALL:
        return f"{start} less than 0.001 in every class."
    if len(found) > 1 and all(_alike(change, _STEP * each.slopes["n50"]) for each in found):
        return f"{start} {signed(change)} in every weather."
    return f"{start} {signed(change)} {in_class(most.weather)}" + (", and by less in the others." if len(found) > 1 else ".")


def _alike(change: float, other: float) -> bool:
    """Whether two changes differ by no more than the last digit that is printed."""
    return abs(round(1000.0 * change) - round(1000.0 * other)) <= 1


def _table(found: Sequence[Dependence], facts: dict | None) -> list[Block]:
    names = [name for name, _, _ in FACTORS]
    rows = [[each.weather, *(_moved(each, name) for name in names)] for each in found]
    return [
        Heading("Change of the mean Pd"),
        Table.of([("class", LEFT), *((_HEADS[name], RIGHT) for name in names)], rows),
        Line(dependence_sentence(found, calibrated=facts is not None, judged=judged_words(facts or {}))),
        Line(
            'From the slopes at the values of the site file, with the half width of their intervals; "cannot tell": the interval '
            "holds both more and less.",
            NOTE,
        ),
    ]


def _moved(each: Dependence, name: str) -> str:
    change, error = _STEP * each.slopes[name], _STEP * each.errors.get(name, 0.0)
    if abs(change) < _SMALL:
        return "less than 0.001"
    if not each.known(name):
        return f"cannot tell (±{error:.3f})"
    return f"{signed(change)} ±{error:.3f}" if error >= _SMALL else signed(change)


def _drivers(results: Results) -> list[tuple[str, str]]:
    """Of every place that was asked, `A 41 m to B 1 m, advection fog` and what drives its crossings."""
    if "sensitivity_total" not in results:
        return []
    rows = []
    for place, code in enumerate(str(code) for code in results["place"].values):
        rows.append((f"{code}, {results.at('sensitivity_weather', place=place)}", f"{drivers_words(results, place)}."))
    return rows
