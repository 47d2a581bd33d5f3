"""What every single loss costs: metres newly weak, the weakest place, the change of the mean Pd."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.decide.losses import adds_nothing, newly_weak_m, newly_weak_year_m, worst_losses
from fencecast.estimate.places import class_with_most, worst_first
from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, UNBROKEN, Block, Heading, Line, Table
from fencecast.findings.installations import yards_differ
from fencecast.findings.runfacts import segment_code
from fencecast.findings.words import change_text, in_class, interval_text, listed

_MOST_CLASSES = 6
_ENDS = ("", "_low", "_high")
_ONE_AT_A_TIME = {"camera": "one camera at a time", "depends_on": "one thing that cameras depend on at a time"}


def loss_blocks(results: Results) -> list[Block]:
    """Two tables and what they mean; empty when the results carry no losses."""
    if "pd_loss" not in results:
        return []
    rows = loss_rows(results)
    shared = str(results.attrs["losses_by"]) == "depends_on"
    columns = [
        ("loss", UNBROKEN),
        *([("takes", LEFT)] if shared else []),
        ("newly weak", RIGHT),
        ("most: m", RIGHT),
        ("in", LEFT),
    ]
    columns += [("mean Pd moves", RIGHT), ("weakest place", UNBROKEN), ("Pd", RIGHT)]
    cells = []
    for row in rows:
        cell = [row["loss"], *([", ".join(row["cameras"])] if shared else []), f"{row['newly_weak_year_m']:.1f}"]
        cell += [f"{row['newly_weak_m']:.1f}", row["most_in"]]
        pd = interval_text(row["pd"], row["pd_low"], row["pd_high"]) if row["place"] else "no data"
        cells.append([*cell, change_text(row["change"], row["change_low"], row["change_high"]), row["place"] or "", pd])
    classes = worst_first(results)[:_MOST_CLASSES]
    by_class = [
        [
            row["loss"],
            *(
                change_text(*(results.at(f"loss_mean_change{e}", loss=row["index"], weather=c.index) for e in _ENDS))
                for c in classes
            ),
        ]
        for row in rows
    ]
    nothing = nothing_text(
        [row["loss"] for row in rows if row["adds_nothing"]], len(rows), left_open(results), yards_differ(results.site)
    )
    return [
        Heading(loss_heading(results)),
        Line(worst_text(rows)),
        *([Line(nothing)] if nothing else []),
        Table.of(columns, cells),
        Heading("Change of the mean Pd by class, with the half width of its paired interval"),
        Table.of([("loss", LEFT), *((c.name, LEFT) for c in classes)], by_class),
        Line(
            "On the crossings of the complete site: nothing but the loss differs. Newly weak: metres that are weak after the "
            "loss and not before, mean over the year by hours, which orders the rows (equal ones by the mean Pd); beside it the "
            "class with most of them. Weakest places have the numbers of fresh crossings. The mean "
            f"Pd of the first table moves over the year, classes weighted by hours.{mean_words(results)}",
            NOTE,
        ),
    ]


def loss_lines(results: Results, most: int = 3) -> list[str]:
    """The costliest losses in a sentence each, metres and mean Pd over the year, then what adds nothing; none without losses."""
    if "pd_loss" not in results:
        return []
    rows = loss_rows(results)
    lines = []
    for row in rows[:most]:
        where = f" ({row['newly_weak_m']:.1f} m {in_class(row['most_in'])})" if row["most_in"] else ""
        moved = change_text(row["change"], row["change_low"], row["change_high"]).split(" ")[0]
        lines.append(f"{row['loss']}: {row['newly_weak_year_m']:.1f} m newly weak{where}, mean Pd {moved}.")
    nothing = nothing_text(
        [row["loss"] for row in rows if row["adds_nothing"]], len(rows), left_open(results), yards_differ(results.site)
    )
    return [*lines, *([nothing] if nothing else [])]


def loss_heading(results: Results) -> str:
    """`What each loss costs: one camera at a time, the costliest first`."""
    return f"What each loss costs: {_ONE_AT_A_TIME[str(results.attrs['losses_by'])]}, the costliest first"


def newly_weak_words(marks: Sequence[str]) -> str:
    """What `newly weak` means in a picture after a loss: `weak without T6, not weak with all cameras`."""
    return f"weak without {listed(list(marks))}, not weak with all cameras, on the same crossings"


def worst_text(rows: list[dict]) -> str:
    """`Losing C3 costs most: ...`; the losses that cost as much, to 0.1 m, are named with it.

    rows: those of `loss_rows`.
    """
    worst = rows[0]
    if all(row["newly_weak_m"] <= 0.0 for row in rows):
        return "No single loss makes a metre weak that was not weak before."
    if round(worst["newly_weak_year_m"], 1) <= 0.0:
        return "No single loss makes as much as 0.1 m weak, mean over the year, that was not weak before."
    metres = f"{worst['newly_weak_year_m']:.1f} m newly weak over the year"
    same = [row for row in rows if round(row["newly_weak_year_m"], 1) == round(worst["newly_weak_year_m"], 1)]
    if len(same) > 1:
        return f"Losing {' or '.join(listed(row['cameras']) for row in same)} costs most: {metres} with each of them."
    where = "as much in every class" if worst["in_every"] else f"most {in_class(worst['most_in'])}: {worst['newly_weak_m']:.1f} m"
    return f"Losing {listed(worst['cameras'])} costs most: {metres}, {where}."


def mean_words(results: Results) -> str:
    """What a loss is judged on where yards differ: the mean over them; '' where mounting and decision are fixed."""
    if not yards_differ(results.site):
        return ""
    return (
        " Before and after a loss Pd is the mean over yards as built (errors of mounting are drawn for every crossing): in some "
        "of them a loss costs more, and what adds nothing here may add something there."
    )


def left_open(results: Results) -> dict[str, float]:
    """By how much a segment's Pd may fall after each loss at most, by the lower ends of its intervals in all classes."""
    low = np.nan_to_num(results.array("pd_loss_change_low", "loss", "weather", "segment"))
    return {str(results.at("loss", loss=k)): float(max(-low[k].min(), 0.0)) for k in range(len(low))}


def nothing_text(names: list[str], losses: int, open_to: dict[str, float], of_yards: bool) -> str:
    """`C3 adds nothing that shows: ...`; '' when everything adds something. open_to: what intervals leave open (`left_open`);
    of_yards: whether Pd is a mean over yards that differ."""
    if not names:
        return ""
    one = len(names) == 1
    who = "None of them" if len(names) == losses > 1 else listed(names)
    verb = "adds" if one or len(names) == losses else "add"
    together = "" if one else ", each alone; lost together they may"
    thing = "anything" if len(names) == losses > 1 else "nothing"
    pd = "mean Pd over yards" if of_yards else "Pd"
    most = max(open_to[name] for name in names)
    return (
        f"{who} {verb} {thing} that shows here: without it no segment's {pd} fell by 0.005 in any weather class (intervals "
        f"leave up to {most:.2f} open){together}."
    )


def loss_rows(results: Results) -> list[dict]:
    """One row for each loss, the costliest first."""
    metres, year, nothing = newly_weak_m(results), newly_weak_year_m(results), adds_nothing(results)
    rows = []
    for k in worst_losses(results):
        row = class_with_most(results, metres[k])
        fresh = results.array("pd_loss_fresh", "loss", "weather", "segment")[k]
        lowest = None if np.isnan(fresh).all() else np.unravel_index(int(np.nanargmin(fresh)), fresh.shape)
        pd = [float("nan")] * 3
        if lowest is not None:
            at = {"loss": k, "weather": int(lowest[0]), "segment": int(lowest[1])}
            pd = [results.at(f"pd_loss_fresh{end}", **at) for end in _ENDS]
        lost = results.at("lost", loss=k).astype(bool)
        rows.append(
            {
                "index": k,
                "loss": str(results.at("loss", loss=k)),
                "cameras": [mark for mark, gone in zip(results.marks, lost) if gone],
                "newly_weak_year_m": float(year[k]),
                "adds_nothing": bool(nothing[k]),
                "newly_weak_m": float(metres[k, row]),
                "most_in": results.classes[row] if metres[k, row] > 0.0 else "",
                "in_every": bool(np.ptp(metres[k]) < 0.05),
                **{f"change{end}": results.at(f"loss_year_change{end}", loss=k) for end in _ENDS},
                "place": None if lowest is None else segment_code(results, int(lowest[1])),
                "weather": None if lowest is None else results.classes[int(lowest[0])],
                **dict(zip(("pd", "pd_low", "pd_high"), pd)),
            }
        )
    return rows


def loss_object(results: Results) -> dict:
    """What `run --json` says beside the rest: `losses`, the costliest first; nothing without them."""
    if "pd_loss" not in results:
        return {}
    kept = [{key: value for key, value in row.items() if key != "index"} for row in loss_rows(results)]
    return {"losses_by": results.attrs["losses_by"], "losses": kept}
