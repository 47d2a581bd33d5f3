"""Nuisance alarms a night, of designs side by side: a sentence, a table and the object of a comparison."""

from __future__ import annotations

import math
from typing import Any

from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.comparison import EQUIVALENT, NO_DATA, NOT_DISTINGUISHABLE, class_findings, variant_names
from fencecast.findings.nuisancewords import interval_words, rate_words
from fencecast.findings.words import confidence_text

FEWER, MORE = "fewer", "more"
_ENDS = ("", "_low", "_high")


def has_alarms(results: Results) -> bool:
    """Whether the comparison counted nuisance alarms: every design names what may raise them."""
    return "alarms_year" in results.data


def alarms_sentence(results: Results, compared: int) -> str:
    """'Nuisance alarms: B has 2.8 a night (1.6 to 6.7), 39 % fewer (15 to 62 %) than A.'; '' where they were not counted."""
    if not has_alarms(results):
        return ""
    names = variant_names(results)
    base, name = names[0], names[compared + 1]
    year = interval_words(*(float(results.at(f"alarms_year{end}", variant=compared + 1)) for end in _ENDS), "a night")
    verdict = str(results.at("alarms_verdict_year", compared=compared))
    change = _year(results, compared, "change")
    if verdict in (FEWER, MORE):
        return f"Nuisance alarms: {name} has {year}, {_change_words(change, verdict)} than {base}."
    how = {
        EQUIVALENT: f"equivalent to {base}: within ±{100 * float(results.attrs['nuisance_margin']):g} %",
        NOT_DISTINGUISHABLE: f"not distinguishable from {base}",
    }.get(verdict, NO_DATA)
    return f"Nuisance alarms: {name} has {year}, {how}."


def _change_words(change: tuple[float, float, float], verdict: str) -> str:
    """'39 % fewer (15 to 62 %)'."""
    if math.isnan(change[0]):
        return verdict
    value, low, high = (abs(100 * part) for part in change)
    low, high = sorted((low, high))
    return f"{value:.0f} % {verdict} ({low:.0f} to {high:.0f} %)"


def _year(results: Results, compared: int, name: str) -> tuple[float, float, float]:
    low, middle, high = (float(results.at(f"alarms_{name}_year{end}", compared=compared)) for end in ("_low", "", "_high"))
    return middle, low, high


def _class(results: Results, compared: int, weather: int, name: str) -> tuple[float, float, float]:
    middle, low, high = (float(results.at(f"alarms_{name}{end}", compared=compared, weather=weather)) for end in _ENDS)
    return middle, low, high


def alarms_blocks(results: Results, compared: int) -> list[Block]:
    """The table of one variant (its number after the base) against the base; none where alarms were not counted."""
    if not has_alarms(results):
        return []
    names = variant_names(results)
    base, name = names[0], names[compared + 1]
    rows = []
    for c in class_findings(results, compared):
        counts = [float(results.at("alarms_class", variant=k, weather=c.index)) for k in (0, compared + 1)]
        parts = (_class(results, compared, c.index, part) for part in ("difference", "change"))
        rows.append([c.name, *_cells(counts, *parts), str(results.at("alarms_verdict", compared=compared, weather=c.index))])
    counts = [float(results.at("alarms_year", variant=k)) for k in (0, compared + 1)]
    parts = (_year(results, compared, part) for part in ("difference", "change"))
    rows.append(["year", *_cells(counts, *parts), str(results.at("alarms_verdict_year", compared=compared))])
    columns = [("class", LEFT), (base, RIGHT), (name, RIGHT), ("difference", RIGHT), ("change", RIGHT), ("", LEFT)]
    words = (
        f"Nuisance alarms a night, on the same encounters and under the same rates, with paired "
        f"{confidence_text(results.confidence)} intervals; a class is counted as if all of the night had its weather. Fewer, "
        f"more: the interval of the change lies below, above zero; equivalent: inside "
        f"±{100 * float(results.attrs['nuisance_margin']):g} %."
    )
    return [Heading(f"{name} compared with {base}: nuisance alarms a night"), Table.of(columns, rows), Line(words, NOTE)]


def _cells(counts: list[float], difference: tuple[float, float, float], change: tuple[float, float, float]) -> list[str]:
    ends = f"{_signed(difference[0])} ({_signed(difference[1])} to {_signed(difference[2])})"
    share = "" if math.isnan(change[0]) else f"{100 * change[0]:+.0f} % ({100 * change[1]:+.0f} to {100 * change[2]:+.0f})"
    return [*(rate_words(count) for count in counts), ends, share.replace("-", "−").replace("+0 ", "0 ").replace("−0 ", "0 ")]


def _signed(value: float) -> str:
    text = rate_words(abs(value))
    return text if text == "0" else f"{'+' if value > 0.0 else '−'}{text}"


def alarms_object(results: Results, compared: int) -> dict[str, Any] | None:
    """What `compare --json` says of one variant; None where alarms were not counted."""
    if not has_alarms(results):
        return None

    def row(counts, difference, change, verdict) -> dict[str, Any]:
        numbers = dict(zip(("base", "variant"), counts))
        for name, parts in (("difference", difference), ("change", change)):
            numbers |= {f"{name}{end}": None if math.isnan(part) else part for end, part in zip(_ENDS, parts)}
        return {**numbers, "verdict": verdict}

    classes = []
    for c in class_findings(results, compared):
        counts = [float(results.at("alarms_class", variant=k, weather=c.index)) for k in (0, compared + 1)]
        parts = (_class(results, compared, c.index, part) for part in ("difference", "change"))
        found = row(counts, *parts, str(results.at("alarms_verdict", compared=compared, weather=c.index)))
        classes.append({"name": c.name, **found})
    counts = [float(results.at("alarms_year", variant=k)) for k in (0, compared + 1)]
    parts = (_year(results, compared, part) for part in ("difference", "change"))
    year = row(counts, *parts, str(results.at("alarms_verdict_year", compared=compared)))
    return {"sentence": alarms_sentence(results, compared), "year": year, "classes": classes}
