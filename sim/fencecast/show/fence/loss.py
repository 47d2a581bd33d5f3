"""The fence after the loss that costs most (`worst-loss.png`), and the order of the losses."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from fencecast.decide.losses import listed, without_cameras, worst_losses
from fencecast.estimate.places import class_with_most, segment_lengths
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import counted_classes
from fencecast.findings.titles import strip_title
from fencecast.findings.words import metres_text, plural
from fencecast.show.fence.strip import LEFT, RIGHT, profile, rows
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.key import ramp_key, verdict_key
from fencecast.show.paper.page import Page, text_width_mm

LONGEST_NAME_MM = 70.0


def plot_worst_loss(results, loss: int | None = None) -> Figure:
    """The fence strip as it is after one loss: by default the one with the most metres newly weak over the year.

    results: of a run with losses (`run --lose-each`). Returns a matplotlib Figure, 180 mm wide.
    """
    results = Results.of(results)
    k = worst_losses(results)[0] if loss is None else loss
    marks = lost_marks(results, k)
    after = Results.of(after_loss(results.data, k, without_text(results.site, marks)))
    ramp = style.fence7(float(results.attrs["requirement_pd"]))
    page = Page()
    fence = Unrolled(page, after, after.sections, LEFT, RIGHT)
    y = page.heading(
        loss_title(results, k, after),
        f"Fence strip after the loss that costs most of {plural(results.sizes['loss'], 'single loss', 'single losses')}: "
        f"each section unrolled with {fence.side()}, worst weather class on top",
        results.attrs,
    )
    top = fence.head(y)
    page.text(page.right, top - 7.6, "weak /", weight="bold", ha="right")
    page.text(page.right, top - 4.6, "undecided, m", colour=style.SECOND, ha="right")
    y = fence.axis(rows(fence, after, top + 0.9 + style.RAIL_MM, ramp) + 1.6)
    y = profile(fence, after, y + 4.5)
    y = fence.key_lines(y + 1.0) + 3.0
    a = ramp_key(page, page.left, y, 70.0, ramp)
    b = verdict_key(page, 82.0, y, ramp, columns=2, step_x=47.0)
    page.foot(max(a, b) + 3.5, results.attrs)
    return page.figure


def lost_marks(results, loss: int) -> list[str]:
    """Marks of the cameras that a loss takes."""
    lost = results["lost"].values[loss].astype(bool)
    return [str(mark) for mark in results["camera"].values[lost]]


def without_text(site, marks) -> str:
    """The site file without these cameras; the whole file when nothing would be left to draw."""
    if not any(mark not in marks for rule in site.rule for mark in rule.cameras):
        return site.text
    return without_cameras(site, marks).text


def after_loss(results, loss: int, text: str):
    """The results as a run after a loss would give them, as far as the strip reads them. Causes are not known for it."""
    after = results.drop_vars([name for name in results.data_vars if "loss" in results[name].dims]).drop_vars("loss").copy()
    taken = {"pd": "pd_loss", "pd_low": "pd_loss_low", "pd_high": "pd_loss_high", "verdict": "loss_verdict"}
    taken |= {f"pd_year{end}": f"pd_loss_year{end}" for end in ("", "_low", "_high")}
    taken |= {f"pd_fresh{end}": f"pd_loss_fresh{end}" for end in ("", "_low", "_high")}
    for name, source in taken.items():
        after[name] = (results[source].dims[1:], results[source].values[loss])
    after["miss_share"] = (after["miss_share"].dims, np.full(after["miss_share"].shape, np.nan))
    counted = np.array(counted_classes(after))
    pd = np.where(np.isnan(after["pd"].values), np.inf, after["pd"].values)
    row = counted[np.argmin(pd[counted], axis=0)]
    at = (row, np.arange(pd.shape[1]))
    for end in ("", "_low", "_high"):
        after[f"pd_worst{end}"] = ("segment", after[f"pd{end}"].values[at])
    names = np.array([str(name) for name in after["weather"].values])
    after["worst_weather"] = ("segment", np.where(np.isfinite(pd[at]), names[row], ""))
    return after.assign_attrs(site_toml=text)


def loss_title(results, loss: int, after) -> str:
    """`Without C3: 14 m newly weak in warm dusk; nine places are weak, ...`."""
    name = f"Without {listed(lost_marks(results, loss))}"
    if text_width_mm(name, style.TITLE, "bold") > LONGEST_NAME_MM:
        name = f"Without {results['loss'].values[loss]}"
    fresh = results["loss_newly_weak"].values[loss] @ segment_lengths(results)
    row = class_with_most(results, fresh)
    found = strip_title(after)
    if fresh[row] < 0.5:
        return f"{name}: no metre newly weak"
    where = f"{metres_text(float(fresh[row]), str(results.attrs['units']))} newly weak in {results['weather'].values[row]}"
    text = f"{name}: {where}; {found[0].lower()}{found[1:]}"
    return text if text_width_mm(text, style.TITLE, "bold") < 300.0 else f"{name}: {where}"
