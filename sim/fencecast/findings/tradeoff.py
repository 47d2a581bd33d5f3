"""What `fencecast tradeoff` says: sentences, a table of settings, metres by weather class, how far to trust it; its JSON."""

from __future__ import annotations

from fencecast.decide.tradeoff.dominated import ALARM_MARGIN
from fencecast.estimate.results import Results
from fencecast.findings.blocks import FINDING, NOTE, RIGHT, TITLE, UNBROKEN, Block, Heading, Line, Table, written_lines
from fencecast.findings.limits import PD_WORDS, limit_lines, limits_object, limits_of
from fencecast.findings.nuisancewords import rate_words
from fencecast.findings.tradefacts import Trade, TradeRow, trade_of
from fencecast.findings.tradewords import (
    alarms_interval,
    metres_change,
    share_change,
    trade_sentences,
)
from fencecast.findings.words import confidence_text, pd_text, rate_text, requirement_text, whole

MOST_CLASSES = 7


def tradeoff_blocks(results: Results, files: list[str], left: list[str]) -> list[Block]:
    """The report, top to bottom."""
    attrs, trade = results.attrs, trade_of(results)
    ran = [
        f"seed {attrs['seed']}",
        f"{len(trade.rows)} settings",
        f"{int(attrs['crossings_per_cell'])} crossings a metre and class",
    ]
    ran += [f"{attrs['looks_total']:,} looks", f"{float(attrs['seconds']):.1f} s"]
    return [
        Line(str(attrs["title"]), TITLE),
        *(Line(text, FINDING) for text in trade_sentences(trade, results.units)),
        Line(f"{PD_WORDS}; every setting meets the same crossings and the same stimuli.", NOTE),
        Line(" · ".join(ran), NOTE),
        *([Line(f"Record: {attrs['weather_source']}.", NOTE)] if "weather_source" in attrs else []),
        *settings_blocks(trade),
        *_classes(results, trade),
        *_trust(results, trade),
        *written_lines(files, left),
    ]


def settings_blocks(trade: Trade) -> list[Block]:
    """Every setting on both sides, and what the columns mean."""
    need = requirement_text(trade.requirement)
    columns = [
        ("setting", UNBROKEN),
        (f"metres at {need}\nin every class", RIGHT),
        ("change", RIGHT),
        ("weakest\ntenth", RIGHT),
    ]
    columns += [("alarms\na night", RIGHT), ("change", RIGHT), ("bad\nnight", RIGHT)] if trade.asked else []
    columns += [("", UNBROKEN)] if trade.dominated else []
    rows = [_row(trade, row) for row in trade.rows]
    lines = [
        f"Metres: with an estimated Pd of {need} or more in every weather class. A run asks more of a metre: its whole interval "
        "above the requirement; the range in the first sentence goes from that to no interval wholly below. Change: against the "
        f"site as it is, with its {confidence_text(trade.confidence)} interval from the crossings that both saw. Weakest tenth: "
        "mean Pd of the weakest tenth of the metres, each in its worst class.",
    ]
    if trade.asked:
        lines.append(
            f"Alarms: mean of a night over the year; as it is {alarms_interval(trade.base)}. What is uncertain in the rates is "
            "in that interval and moves all settings together; a change has what is left of it, because settings differ in the "
            "causes that they let through. Bad night: 19 nights in 20 have so many or fewer. Dominated: another setting is "
            "better on one side by more than the error, and as good on the other: half a metre or 1 % of the alarms is no "
            f"difference, and the error leaves open no loss of {trade.margin_m:.1f} m (2 m, or 2 % of the fence that rules "
            f"watch) and no {100 * ALARM_MARGIN:.0f} % more alarms."
        )
    else:
        noise = max(trade.rows, key=lambda row: row.noise_per_day)
        lines.append(
            f"False alarms from sensor noise alone, all cameras: at most {rate_text(noise.noise_per_day)} a day ({noise.words}). "
            "Animals, insects, plants and passers-by are not in it."
        )
    return [
        Heading("Settings, one changed at a time"),
        Table.of(columns, rows),
        *(Line(text, NOTE) for text in lines),
        *(Line(text, NOTE) for text in trade.left_out),
    ]


def _row(trade: Trade, row: TradeRow) -> list[str]:
    cells = [row.words, whole(row.meets_m), "" if row is trade.base else metres_change(row), pd_text(row.weakest_tenth)]
    if trade.asked:
        cells += [rate_words(row.alarms), "" if row is trade.base else share_change(row), whole(row.bad_night)]
    return [*cells, *(["dominated" if row.dominated_by else ""] if trade.dominated else [])]


def _classes(results: Results, trade: Trade) -> list[Block]:
    """Metres by weather class, those with the fewest metres in the base first."""
    base = trade.base.by_class
    shown = sorted(range(len(base)), key=lambda k: (base[k], k))[:MOST_CLASSES]
    columns = [("setting", UNBROKEN), *((results.classes[k].replace(" ", "\n", 1), RIGHT) for k in shown)]
    rows = [[row.words, *(whole(row.by_class[k]) for k in shown)] for row in trade.rows]
    lines = [f"{len(base) - len(shown)} more weather classes are in the file."] if len(shown) < len(base) else []
    need = requirement_text(trade.requirement)
    return [Heading(f"Metres at {need} by weather class"), Table.of(columns, rows), *(Line(text, NOTE) for text in lines)]


def _trust(results: Results, trade: Trade) -> list[Block]:
    lines = [
        "All settings are judged by the same model: what it leaves out, or has wrong for all, mostly cancels, but not where "
        "settings differ in it.",
        "One setting is changed at a time: two together may take more or less than their sum. Run the site with those that are "
        "chosen.",
    ]
    return [
        Heading("How far to trust it"),
        *(Line(line) for line in lines),
        *limit_lines(limits_of(results.attrs), str(results.attrs["caution"])),
    ]


def tradeoff_object(results: Results, files: list[str]) -> dict:
    """The object of `fencecast tradeoff --json`."""
    attrs, trade = results.attrs, trade_of(results)
    return {
        "title": attrs["title"],
        "version": attrs["version"],
        "seed": attrs["seed"],
        "crossings": attrs["crossings_total"],
        "crossings_per_cell": attrs["crossings_per_cell"],
        "looks": attrs["looks_total"],
        "seconds": attrs["seconds"],
        "confidence": trade.confidence,
        "requirement": trade.requirement,
        "fence_m": trade.fence_m,
        "record_years": attrs.get("period_years"),
        "nuisance_asked": trade.asked,
        "nuisance_ceiling": trade.ceiling,
        "sentences": trade_sentences(trade, results.units),
        "settings": [_setting(results, trade, row) for row in trade.rows],
        "helps": trade.helps and trade.helps.words,
        "unreached_m": trade.unreached_m,
        "out_of_view_m": trade.out_of_view_m,
        "left_out": list(trade.left_out),
        "files": files,
        **limits_object(attrs),
    }


def _setting(results: Results, trade: Trade, row: TradeRow) -> dict:
    nights = {
        "per_night": row.alarms,
        "low": row.alarms_low,
        "high": row.alarms_high,
        "change": row.share,
        "change_low": row.share_low,
        "change_high": row.share_high,
        "bad_night": row.bad_night,
    }
    return {
        "setting": row.words,
        "family": row.family,
        "value": row.value,
        "meets_m": row.meets_m,
        "meets_low_m": row.low_m,
        "meets_high_m": row.high_m,
        "change_m": row.change_m,
        "change_low_m": row.change_low_m,
        "change_high_m": row.change_high_m,
        "classes": [{"name": name, "meets_m": metres} for name, metres in zip(results.classes, row.by_class)],
        "weakest_tenth": row.weakest_tenth,
        "weakest": row.weakest,
        "nuisance": nights if trade.asked else None,
        "noise_alarms_per_day": row.noise_per_day,
        "dominated": bool(row.dominated_by),
        "dominated_by": row.dominated_by or None,
    }
