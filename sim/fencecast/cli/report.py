"""What `fencecast run` prints: is the requirement met, when, where and why not, and how far the numbers can be trusted."""

from __future__ import annotations

import math

import numpy as np

from fencecast.cli.hoursreport import hours_report
from fencecast.cli.inputreport import input_report
from fencecast.cli.layout import LEFT, RIGHT, VERDICT_STYLES, WHOLE, heading, paragraph, styled, table, written
from fencecast.cli.lossreport import loss_report
from fencecast.cli.summary import PLACES, cell_code, lowest_cell, short_of_precision
from fencecast.estimate.places import classes_in_all, record_years, worst_first
from fencecast.estimate.weakest import lowest_places, printed_numbers, widespread_classes
from fencecast.findings.readings import reading
from fencecast.findings.titles import reason_lines, simulated_metres, verdict_line, widespread_words
from fencecast.findings.words import feet, first_upper, hours_heading, interval_text, pd_text, plural, share_text, whole

# Of the change with ln N50: below this share the change with ln NETD is said to count for nothing.
_NOISE_COUNTS = 0.1


def run_report(results, files: list[str], left: list[str]) -> list:
    """The parts of the report, top to bottom, for `output.say`."""
    return [
        *_head(results),
        *_classes(results),
        *_places(results),
        *hours_report(results),
        *_sensitivities(results),
        *input_report(results),
        *loss_report(results),
        *_trust(results),
        *_files(files, left),
    ]


def _head(results) -> list:
    attrs = results.attrs
    seconds = float(attrs["seconds"])
    rate = f"{attrs['looks_total'] / seconds:,.0f} looks a second" if seconds > 0.0 else ""
    ran = [
        f"seed {attrs['seed']}",
        f"{attrs['crossings_total']:,} crossings",
        f"{attrs['looks_total']:,} looks",
        f"{seconds:.1f} s",
        rate,
    ]
    parts = [styled(str(attrs["title"]), "bold"), styled(_verdict(results), "bold")]
    parts += [paragraph(str(attrs["stress_words"]))] if attrs.get("stress") else []
    parts += [paragraph(line) for line in reason_lines(results)[:1]]
    if results.sizes["weather"] < classes_in_all(results):
        names, one = ", ".join(str(name) for name in results["weather"].values), results.sizes["weather"] == 1
        parts.append(
            paragraph(
                f"Only {names} {'was' if one else 'were'} run, of {classes_in_all(results)} classes: the year here is "
                "weighted over these alone."
            )
        )
    return [*parts, paragraph(" · ".join(part for part in ran if part), "dim")]


def _verdict(results) -> str:
    return verdict_line(results) if simulated_metres(results) > 0.0 else "Nothing was simulated: no rule watches any section."


def _metres(value: float, units: str, word: str = ""):
    text = whole(value) + (f"\n{whole(feet(value))} ft" if units == "us" else "")
    return styled(text, VERDICT_STYLES[word] if word and value >= 0.5 else "")


def _classes(results) -> list:
    sections = results.sections
    units = results.site.units
    classes = worst_first(results)
    missing = any(c.no_data_m > 0.0 for c in classes)
    columns = [("class", LEFT), (hours_heading(record_years(results)), RIGHT), ("mean", RIGHT)]
    columns += [("meets", RIGHT), ("undecided", RIGHT), ("weak", RIGHT)]
    columns += [("no data", RIGHT)] if missing else []
    columns += [("lowest Pd", RIGHT), ("at", WHOLE)]
    rows = []
    for c in classes:
        row = [c.name, whole(c.told_hours), pd_text(c.mean_pd)]
        row += [_metres(c.meets_m, units, "meets"), _metres(c.undecided_m, units, "undecided"), _metres(c.weak_m, units, "weak")]
        row += [_metres(c.no_data_m, units, "no data")] if missing else []
        segment = lowest_cell(results, c.index)
        if segment is None:
            row += ["no data", ""]
        else:
            row += [interval_text(*printed_numbers(results, c.index, segment)[:3]), cell_code(results, sections, segment)]
        rows.append(row)
    letters = ", ".join(f"{s.letter} {s.name}" for s in sections)
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    return [
        heading("When: mean Pd, metres and lowest Pd by weather class, worst first"),
        table(columns, rows),
        paragraph(
            f"Meets, undecided, weak: the whole {confidence} interval is above, across or below the requirement. "
            f"Sections, metres along each: {letters}.",
            "dim",
        ),
    ]


def _weak_in(place, counted: int) -> str:
    return f"weak in {len(place.weak_in)} of {counted} class{'' if counted == 1 else 'es'}" if place.weak_in else ""


def _places(results) -> list:
    from rich.text import Text

    places = lowest_places(results, PLACES)
    if not places:
        return []
    counted = int(np.sum(results["weather_hours"].values > 0)) or results.sizes["weather"]
    weak = any(place.weak_in for place in places)
    stretches = "lowest stretches" if places[0].valley else "weakest places"
    parts = [heading(f"Where and why: the {stretches}" if weak else "Where: the lowest places (none is weak)")]
    heads = [
        (place.code, interval_text(place.pd, place.low, place.high), place.weather, _weak_in(place, counted)) for place in places
    ]
    widths = [max(len(head[i]) for head in heads) for i in range(4)]
    for place, head in zip(places, heads):
        code, pd, weather, classes = (text.ljust(width) for text, width in zip(head, widths))
        parts.append(Text.assemble(f"{code}  ", (pd, VERDICT_STYLES[place.verdict]), f"  {weather}  {classes}"))
        why = f"{first_upper(place.cause)}, {share_text(place.cause_share)}. " if place.cause else ""
        parts.append(paragraph(why + reading(results, place), indent=4))
    apart = widespread_words(results)
    if apart:
        one = len(widespread_classes(results)) == 1
        if places[0].valley:
            rest = f"above are {'its' if one else 'their'} lowest stretches"
        else:
            rest = f"so places are marked off without {'it' if one else 'them'}, and told in their worst class of all"
        parts.append(paragraph(f"{apart}: too widespread to be single places, {rest}."))
    if all(place.fresh for place in places):
        parts.append(
            paragraph("These numbers are from fresh crossings: the lowest of many estimates is too low by selection.", "dim")
        )
    return parts


def _signed(value: float) -> str:
    if math.isnan(value):
        return "no data"
    return f"{value:+.3f}".replace("-", "−") if abs(value) >= 0.0005 else "0.000"


def _moved(value: float) -> str:
    return f"by {_signed(value)}" if abs(value) >= 0.0005 else "by less than 0.001"


def _sensitivities(results) -> list:
    rows, decided, noisy = [], [], []
    for c in worst_first(results):
        n50, netd = (float(results[name].values[c.index]) for name in ("dpd_dln_n50", "dpd_dln_netd"))
        rows.append([c.name, _signed(n50), _signed(netd)])
        if math.isnan(n50):
            continue
        (noisy if abs(netd) > _NOISE_COUNTS * abs(n50) else decided).append((c.name, n50, netd))
    if not decided and not noisy:
        return []
    return [
        heading("What the answer hangs on: change of the mean Pd"),
        table([("class", LEFT), ("per ln N50", RIGHT), ("per ln NETD", RIGHT)], rows),
        paragraph(sensitivity_sentence(decided, noisy)),
    ]


def sensitivity_sentence(decided: list[tuple], noisy: list[tuple]) -> str:
    """Which classes are decided by N50 and geometry alone, and where noise counts; each class as (name, per ln N50, per ln NETD).

    Ten per cent is a step that a reader can picture: ln 1.1 times the derivative.
    """
    step = math.log(1.1)
    parts = []
    if decided:
        name, n50, netd = max(decided, key=lambda c: abs(c[1]))
        names = _and([c[0] for c in decided])
        parts.append(
            f"{first_upper(names)}: N50 (the detail that the analytics need) and geometry are nearly the whole answer; in {name} "
            f"10 % more N50 moves the mean Pd {_moved(step * n50)}, 10 % more noise {_moved(step * netd)}."
        )
    if noisy:
        name, n50, netd = max(noisy, key=lambda c: abs(c[2]))
        names = _and([c[0] for c in noisy])
        parts.append(
            f"{first_upper(names)}: noise, threshold and contrast count too; in {name} 10 % more noise moves it "
            f"{_moved(step * netd)}, 10 % more N50 {_moved(step * n50)}."
        )
    else:
        parts.append("Noise, threshold and contrast would count in denser fog, heavier rain, or with ground as warm as a person.")
    parts.append("N50 is a judgement until walk tests calibrate it.")
    return " ".join(parts)


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _trust(results) -> list:
    attrs = results.attrs
    lines = [_precision_line(results)]
    lines.append(
        f"Encounter correlation {float(attrs['encounter_correlation']):g}: how alike two cameras judge one intruder; "
        "a judgement, it counts where cameras overlap."
    )
    lines.append(_noise_line(results))
    limits = [line.strip() for line in str(attrs["not_modelled"]).split("\n") if line.strip()]
    return [
        heading("How far to trust it"),
        *(paragraph(line) for line in lines),
        paragraph("Not modelled or uncertain: " + " ".join(limits), "dim"),
        styled(str(attrs["caution"]), "bold"),
    ]


def _precision_line(results) -> str:
    simulated, short, widest, cell = short_of_precision(results)
    asked = float(results.attrs["precision"])
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    if not short:
        return f"Every one of {simulated:,} cells (segment x class) reached a half width of {asked:g} at {confidence}."
    row, segment = cell
    code = cell_code(results, results.sections, segment)
    return (
        f"{first_upper(plural(short, 'cell'))} of {simulated:,} (segment x class) did not reach a half width of {asked:g} at "
        f"{confidence}; the widest, {widest:.3f}, is {code} in {results['weather'].values[row]}. A higher --max-crossings helps."
    )


def _noise_line(results) -> str:
    rates = results["noise_alarms_per_day"].values
    worst = int(np.argmax(rates))
    most = float(rates[worst])
    amount = "below 0.001 for every camera" if most < 0.001 else f"at most {most:.3g} ({results['camera'].values[worst]})"
    return f"Noise-only alarms per camera-day: {amount}. Noise only: no animals, no weather."


def _files(files: list[str], left: list[str]) -> list:
    parts = [written(files)]
    if left:
        parts.append(paragraph(f"Left as they are, because they changed since fencecast wrote them: {', '.join(left)}"))
    return parts
