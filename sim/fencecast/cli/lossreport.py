"""What every single loss costs, as tables and for `--json`: metres newly weak, the weakest place, the change of the mean Pd."""

from __future__ import annotations

import numpy as np

from fencecast.cli.comparereport import change_text
from fencecast.cli.layout import LEFT, RIGHT, WHOLE, heading, paragraph, table
from fencecast.decide.losses import listed, newly_weak_m, worst_losses
from fencecast.estimate.places import class_with_most, code_of, worst_first
from fencecast.findings.words import interval_text, whole

_MOST_CLASSES = 6


def loss_report(results) -> list:
    """The parts of the report for `output.say`; empty when the results carry no losses."""
    if "pd_loss" not in results:
        return []
    rows, by = loss_rows(results), str(results.attrs["losses_by"])
    columns = [("loss", WHOLE), *([("takes", LEFT)] if by == "depends_on" else []), ("newly weak", RIGHT), ("most in", LEFT)]
    columns += [("mean Pd moves", RIGHT), ("weakest place", WHOLE), ("Pd", RIGHT)]
    cells = []
    for row in rows:
        cell = [row["loss"], *([", ".join(row["cameras"])] if by == "depends_on" else []), whole(row["newly_weak_m"])]
        pd = interval_text(row["pd"], row["pd_low"], row["pd_high"]) if row["place"] else "no data"
        change = change_text(row["change"], row["change_low"], row["change_high"])
        cells.append([*cell, row["most_in"], change, row["place"] or "", pd])
    classes = worst_first(results)[:_MOST_CLASSES]
    change = {end: results[f"loss_mean_change{end}"].values for end in ("", "_low", "_high")}
    by_class = [
        [row["loss"], *(change_text(*(change[end][row["index"], c.index] for end in change)) for c in classes)] for row in rows
    ]
    worst = rows[0]
    said = (
        f"Losing {listed(worst['cameras'])} costs most: {whole(worst['newly_weak_m'])} m newly weak in {worst['most_in']}."
        if worst["newly_weak_m"] >= 0.5
        else "No single loss makes a metre weak that was not weak before."
    )
    return [
        heading(f"What each loss costs: one {by} at a time, the costliest first"),
        paragraph(said),
        table(columns, cells),
        heading("Change of the mean Pd by class, with the half width of its paired interval"),
        table([("loss", LEFT), *((c.name, LEFT) for c in classes)], by_class),
        paragraph(
            "On the crossings of the whole site: nothing but the loss differs. Newly weak: metres that are weak after the loss "
            "and not before, in the class with most of them. A weakest place is told with fresh crossings. The mean Pd of the "
            "first table moves over the year, classes weighted by hours.",
            "dim",
        ),
    ]


def loss_rows(results) -> list[dict]:
    """One row for each loss, the costliest first."""
    sections = results.sections
    metres = newly_weak_m(results)
    rows = []
    for k in worst_losses(results):
        row = class_with_most(results, metres[k])
        fresh = results["pd_loss_fresh"].values[k]
        lowest = None if np.isnan(fresh).all() else np.unravel_index(int(np.nanargmin(fresh)), fresh.shape)
        ends = ("", "_low", "_high")
        pd = [float("nan")] * 3 if lowest is None else [float(results[f"pd_loss_fresh{end}"].values[k][lowest]) for end in ends]
        lost = results["lost"].values[k].astype(bool)
        rows.append(
            {
                "index": k,
                "loss": str(results["loss"].values[k]),
                "cameras": [str(mark) for mark in results["camera"].values[lost]],
                "newly_weak_m": float(metres[k, row]),
                "most_in": str(results["weather"].values[row]) if metres[k, row] >= 0.5 else "",
                **{f"change{end}": float(results[f"loss_year_change{end}"].values[k]) for end in ends},
                "place": None if lowest is None else code_of(results, sections, int(lowest[1]), int(lowest[1])),
                "weather": None if lowest is None else str(results["weather"].values[lowest[0]]),
                **dict(zip(("pd", "pd_low", "pd_high"), pd)),
            }
        )
    return rows


def loss_summary(results) -> dict:
    """What `run --json` says beside the rest: `losses`, the costliest first; nothing without them."""
    if "pd_loss" not in results:
        return {}
    kept = [{key: value for key, value in row.items() if key != "index"} for row in loss_rows(results)]
    return {"losses_by": results.attrs["losses_by"], "losses": kept}
