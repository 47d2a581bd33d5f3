"""The sentences of a trade-off: what a setting takes away and what it costs, for somebody with little time."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fencecast.decide.tradeoff.dominated import LEAST_ALARMS, LEAST_SHARE
from fencecast.findings.nuisancewords import bad_night_words, interval_words
from fencecast.findings.tradefacts import LEAST_RISE, NO_METRE_M, Trade, TradeRow, setting_words
from fencecast.findings.words import confidence_text, first_upper, listed, metres_text, pd_text, requirement_text, whole

NOT_ASKED = (
    "Nuisance alarms were not asked for: the site file has no [[stimulus]] table. Only sensor noise is counted, which a lower "
    "threshold hardly raises; so no setting is called free of cost, and none dominated."
)

NO_PICTURE = "no picture: without [[stimulus]] tables alarms a night are not known, and there is no trade to draw"


def alarms_interval(row: TradeRow) -> str:
    """`5.1 (3.1 to 11)`."""
    return interval_words(row.alarms, row.alarms_low, row.alarms_high)


def percent_text(share: float) -> str:
    """`36 %`, `<1 %`, `nearly all`."""
    size = 100.0 * abs(share)
    if share <= -0.995:
        return "nearly all"
    return "<1 %" if size < 0.5 else f"{whole(size)} %"


def share_change(row: TradeRow) -> str:
    """A change of alarms with its paired interval: `−36 % (−55 to −9)`, `+21 % (+18 to +25)`."""
    if max(row.alarms, row.alarms + row.saved) < LEAST_ALARMS:
        return "0 %"
    if row.alarms + row.saved < LEAST_ALARMS:
        return ""  # a percentage of next to nothing
    low, high = (100.0 * end for end in (row.share_low, row.share_high))
    return f"{signed_whole(100.0 * row.share)} % ({signed_whole(low)} to {signed_whole(high)})"


def metres_change(row: TradeRow) -> str:
    """`−16 ±3`: metres more or fewer than the base."""
    return f"{signed_whole(row.change_m)} ±{whole(0.5 * (row.change_high_m - row.change_low_m))}"


def signed_whole(value: float) -> str:
    """A whole number with its sign, 0 without one."""
    text = whole(abs(value))
    return "0" if text == "0" else f"{'−' if value < 0 else '+'}{text}"


def cost_text(row: TradeRow, units: str = "si") -> str:
    """`costs 16 m`, `costs no metre`, `brings 4 m`."""
    if abs(row.change_m) < NO_METRE_M:
        return "costs no metre"
    return f"{'costs' if row.change_m < 0 else 'brings'} {metres_text(abs(row.change_m), units)}"


def base_sentence(trade: Trade, units: str = "si") -> str:
    """The site as it is, on both sides."""
    base = trade.base
    sentence = (
        f"As it is, {metres_text(base.meets_m, units)} of {metres_text(trade.fence_m, units)} are at "
        f"{requirement_text(trade.requirement)} in every weather class ({whole(base.low_m)} to {whole(base.high_m)} m)"
    )
    if not trade.asked:
        return f"{sentence}."
    return f"{sentence}, with {alarms_interval(base)} nuisance alarms a night; {bad_night_words(int(base.bad_night))}."


def helps_sentence(trade: Trade, units: str = "si") -> str:
    """`Confirm 5 of 8 takes 36 % (9 to 55 %) of the alarms away and costs no metre; least size 0.45 takes 35 % and costs
    16 m.`"""
    helps, seems = trade.helps, trade.seems
    if not trade.asked:
        return NOT_ASKED
    if helps is not None:
        said = f"{first_upper(helps.words)} takes {percent_text(helps.share)}{_between(helps)} of the alarms away and "
        said += cost_text(helps, units)
        return f"{said}; {seems.words} takes {percent_text(seems.share)} and {cost_text(seems, units)}." if seems else f"{said}."
    if seems is not None:
        return (
            "No setting that was tried takes alarms away without costing metres; the cheapest is "
            f"{seems.words}: it takes {percent_text(seems.share)} of the alarms away and {cost_text(seems, units)}."
        )
    if trade.base.alarms < LEAST_ALARMS:
        return "There are next to no nuisance alarms that a setting could take away."
    return "No setting that was tried takes alarms away beyond what is uncertain."


def _between(row: TradeRow) -> str:
    """` (9 to 55 %)`: the interval of a saving; "" where its ends print alike."""
    least, most = whole(-100.0 * row.share_high), whole(-100.0 * row.share_low)
    return "" if least == most else f" ({least} to {most} %)"


def adds_sentence(trade: Trade, units: str = "si") -> str:
    """The setting that brings most metres, and what that costs; "" where none brings any."""
    adds = trade.adds
    if adds is None:
        return ""
    said = f"{first_upper(adds.words)} brings most metres, {metres_text(adds.change_m, units)}"
    if math.isnan(adds.share):
        return f"{said}; what it costs in alarms is not known."
    if adds.share > 0.0 and adds.share_low > 0.0:
        return f"{said}, for {percent_text(adds.share)} more alarms."
    return f"{said}, and no more alarms." if adds.share_high <= 0.0 else f"{said}; alarms do not differ beyond what is uncertain."


def dominated_sentences(trade: Trade) -> list[str]:
    """Settings that lose on both sides, by the one that is better; what they do for the weakest tenth stands beside it."""
    rows = {row.words: row for row in trade.rows}
    groups: dict[tuple[str, str], list[TradeRow]] = {}
    for row in trade.dominated:
        groups.setdefault((row.dominated_by, _why(row, rows[row.dominated_by])), []).append(row)
    found = []
    for (better, why), group in groups.items():
        than = "the site as it is" if rows[better] is trade.base else better
        are = "is" if len(group) == 1 else "are"
        families = dict.fromkeys(row.family for row in group)
        named = [setting_words(name, *(row.value for row in group if row.family == name)) for name in families]
        found.append(f"{first_upper(listed(named))} {are} dominated: {than} has {why}{_rises(group, rows[better])}.")
    return found


def _why(row: TradeRow, better: TradeRow) -> str:
    """What the better setting has."""
    more, fewer = better.meets_m - row.meets_m >= NO_METRE_M, better.alarms <= row.alarms * (1.0 - LEAST_SHARE) - LEAST_ALARMS
    if more and fewer:
        return "more metres and fewer alarms"
    return "fewer alarms and as many metres" if fewer else "more metres and as few alarms"


def _rises(group: Sequence[TradeRow], better: TradeRow) -> str:
    """`, though with N50 1.5 the weakest tenth of the metres has Pd 0.53, not 0.45`: what dominance, which counts metres, does
    not see."""
    best = max(group, key=lambda row: row.weakest_tenth)
    if not best.weakest_tenth - better.weakest_tenth >= LEAST_RISE:
        return ""
    pd, instead = pd_text(best.weakest_tenth), pd_text(better.weakest_tenth)
    return f", though with {best.words} the weakest tenth of the metres has Pd {pd}, not {instead}"


def unreached_sentence(trade: Trade, units: str = "si") -> str:
    """Metres that no setting brings to the requirement; "" when every metre is reached by one."""
    if trade.unreached_m < 0.5:
        return ""
    said = (
        f"{metres_text(trade.unreached_m, units)} reach {requirement_text(trade.requirement)} in every class under none of these "
        "settings"
    )
    hidden = trade.out_of_view_m
    if hidden < 0.5:
        return f"{said}."
    if trade.unreached_m - hidden < 0.5:
        return f"{said}: they are too seldom in view, so no setting changes them."
    return f"{said}; {metres_text(hidden, units)} of them are too seldom in view: no setting changes them."


def ceiling_sentence(trade: Trade) -> str:
    """Which settings stay under the ceiling of the site file, by the upper end of their interval; "" without a ceiling."""
    if math.isnan(trade.ceiling):
        return ""
    start = f"The ceiling of {trade.ceiling:g} alarms a night is met, by the upper end of the interval,"
    if not trade.within:
        return f"{start} under none of these settings."
    if len(trade.within) == len(trade.rows):
        return f"{start} under all of these settings."
    names = [row.words for row in trade.within]
    return f"{start} under {listed(names) if len(names) <= 6 else f'{len(names)} of {len(trade.rows)} settings'}."


def trade_sentences(trade: Trade, units: str = "si") -> list[str]:
    """All that is said, most important first."""
    found = [base_sentence(trade, units), helps_sentence(trade, units), adds_sentence(trade, units)]
    found += [*dominated_sentences(trade), unreached_sentence(trade, units), ceiling_sentence(trade)]
    return [sentence for sentence in found if sentence]


def trade_titles(trade: Trade) -> list[str]:
    """The finding above the picture, the fullest form first."""
    full = helps_sentence(trade).rstrip(".")
    return [full, full.split("; ")[0]]


def trade_subtitle(trade: Trade) -> str:
    """What is drawn."""
    return (
        f"Metres with Pd {requirement_text(trade.requirement)} or more in every weather class against nuisance alarms, one "
        f"setting changed at a time on the same crossings and encounters; bars: {confidence_text(trade.confidence)} intervals "
        f"of the difference from the site as it is, whose alarms are {alarms_interval(trade.base)}"
    )
