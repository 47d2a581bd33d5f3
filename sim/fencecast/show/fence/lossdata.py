"""What the picture of the worst loss draws: the strip's data as they are after a loss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from fencecast.decide.losses import without_cameras, worst_losses
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.findings.designtitles import loss_titles
from fencecast.show.fence.data import FenceStripData, fence_strip_data
from fencecast.site import Site


@dataclass(frozen=True, eq=False)
class WorstLossData:
    """What `plot_worst_loss` draws: the strip after the loss, which loss it is and of how many, and titles of falling length."""

    strip: FenceStripData
    loss: str
    losses: int
    titles: tuple[str, ...]


def worst_loss_data(results: Results | xr.Dataset, loss: int | None = None) -> WorstLossData:
    """The strip after one loss: by default the one with the most metres newly weak over the year."""
    results = Results.of(results)
    k = worst_losses(results)[0] if loss is None else loss
    lost = np.asarray(results.array("lost", "loss", "camera")[k], dtype=bool)
    marks = [mark for mark, gone in zip(results.marks, lost) if gone]
    after = Results.of(after_loss(results.data, k, _text_without(results.site, marks)))
    titles = tuple(loss_titles(results, k, after))
    return WorstLossData(fence_strip_data(after), str(results.at("loss", loss=k)), results.sizes["loss"], titles)


def _text_without(site: Site, marks: Sequence[str]) -> str:
    """The site file without these cameras; the file as it is when nothing would be left to draw."""
    if not any(mark not in marks for rule in site.rule for mark in rule.cameras):
        return site.text
    return without_cameras(site, marks).text


def after_loss(results: xr.Dataset, loss: int, text: str) -> xr.Dataset:
    """The results as a run after a loss would give them, as far as the strip reads them. Causes are not known for it."""
    after = results.drop_vars([name for name in results.data_vars if "loss" in results[name].dims]).drop_vars("loss").copy()
    taken = {"pd": "pd_loss", "pd_low": "pd_loss_low", "pd_high": "pd_loss_high", "verdict": "loss_verdict"}
    taken |= {f"pd_year{end}": f"pd_loss_year{end}" for end in ("", "_low", "_high")}
    taken |= {f"pd_fresh{end}": f"pd_loss_fresh{end}" for end in ("", "_low", "_high")}
    for name, source in taken.items():
        after[name] = results[source].isel(loss=loss).drop_vars("loss", errors="ignore").variable
    after["miss_share"] = (after["miss_share"].dims, np.full(after["miss_share"].shape, np.nan))
    counted = np.array(counted_classes(after))
    pd = after["pd"].transpose("weather", "segment").values
    pd = np.where(np.isnan(pd), np.inf, pd)
    row = counted[np.argmin(pd[counted], axis=0)]
    at = (row, np.arange(pd.shape[1]))
    for end in ("", "_low", "_high"):
        after[f"pd_worst{end}"] = ("segment", after[f"pd{end}"].transpose("weather", "segment").values[at])
    names = np.array([str(name) for name in after["weather"].values])
    after["worst_weather"] = ("segment", np.where(np.isfinite(pd[at]), names[row], ""))
    return after.assign_attrs(site_toml=text)
