"""Results with INVENTED hours: the invented yard, given the hours of an invented year and made-up Pd by kind of hour."""

from __future__ import annotations

import numpy as np

from fencecast.hours.opticalrange import DROP_SHARES, RANGES_M, drop_radii_um
from meteorology.invented_weather import year as invented_weather
from show import invented_results


def yard(spread=0.25, lowest=0.0, fresh=True, **changes):
    """The invented yard with 12 states of the weather, from 0 (harmless) to 11, that its hours are in.

    A segment's Pd falls with the state from its best class; spread: how much by the worst state; lowest: what no Pd goes below.
    """
    results = invented_results.yard()
    year = invented_weather(**changes)
    return add_hours(results, year, spread, lowest, fresh)


def add_hours(results, year, spread, lowest, fresh=True):
    states, half = 12, 0.015
    best = np.nanmax(results["pd"].values, axis=0)
    bad = np.linspace(0.0, 1.0, states)
    pd = np.clip(best[None, :] - spread * bad[:, None] ** 2, lowest, 1.0)
    need = float(results.attrs["requirement_pd"])
    trouble = np.exp(-np.abs(year.middle["contrast_k"])) + np.clip(1.0 - np.log10(year.middle["visibility_m"] / 100.0), 0.0, 1.0)
    state = np.clip(np.nan_to_num(trouble) * states, 0, states - 1).astype(int)
    counted = year.counted
    hour_state = np.stack([np.where(counted, state, -1), np.where(counted, np.maximum(state - 1, 0), -1)], axis=1)
    weight = np.where(counted[:, None], [[0.75, 0.25]], 0.0)
    by_hour = (pd[hour_state] * weight[:, :, None]).sum(axis=1)  # (hours, segments)
    weak = (by_hour < need) & counted[:, None]
    month = year.records.time.astype("datetime64[M]").astype(int) % 12
    segments = results.sizes["segment"]
    by_month = np.zeros((segments, 12))
    for m in range(12):
        by_month[:, m] = weak[month == m].sum(axis=0) / year.period_years
    hours = by_month.sum(axis=1)
    watched = ~np.isnan(best)
    hours[~watched] = np.nan
    results["pd_state"] = (("state", "segment"), pd)
    results["pd_state_low"] = (("state", "segment"), np.clip(pd - half, 0, 1))
    results["pd_state_high"] = (("state", "segment"), np.clip(pd + half, 0, 1))
    results["state_hours"] = ("state", np.bincount(state[counted], minlength=states) / year.period_years)
    results["hour_state"] = (("hour", "option"), hour_state)
    results["hour_state_weight"] = (("hour", "option"), weight)
    results["hour_time"] = ("hour", year.records.time.astype("datetime64[ns]"))
    results["hour_armed"], results["hour_known"] = ("hour", year.armed), ("hour", year.known)
    results["hour_sun_elevation_deg"] = ("hour", year.sun_elevation_deg)
    results["known_armed_hours"] = ((), counted.sum() / year.period_years)
    results["armed_hours"] = ((), year.armed.sum() / year.period_years)
    results["weak_hours_month"] = (("segment", "month"), by_month)
    results["weak_hours_month_fresh"] = (("segment", "month"), by_month)
    for name, values in (("", hours), ("_low", 0.9 * hours), ("_high", 1.12 * hours)):
        results[f"weak_hours{name}"] = ("segment", values)
        results[f"weak_hours_fresh{name}"] = ("segment", values if fresh else np.full(segments, np.nan))
    return results


def with_fog(top=0.97, half=0.01, shift=1.0, **changes):
    """Invented results whose Pd rises to `top` at a range that grows with the drops."""
    results = yard()
    results.attrs.update(changes)
    radii = drop_radii_um()
    reach = shift * 14.0 * radii[:, :, None] / RANGES_M
    pd = top * np.exp(-(reach**1.5))
    axes = ("fog_kind", "drop_share", "optical_range")
    for name, less in (("pd_fog", 0.0), ("pd_fog_segment", 0.03)):
        for end, by in (("", 0.0), ("_low", -half), ("_high", half)):
            results[f"{name}{end}"] = (axes, np.clip(pd - less + by, 0.0, 1.0))
    results.coords["fog_kind"] = np.array(["radiation", "advection"])
    results.coords["drop_share"], results.coords["optical_range"] = DROP_SHARES, RANGES_M
    results["fog_drop_um"] = (("fog_kind", "drop_share"), radii)
    words = [f"the record's armed hours of {kind} fog" for kind in ("radiation", "advection")]
    results["fog_base"] = ("fog_kind", np.array(words))
    results["fog_segment"] = ((), 5)
    counts = results["hour_armed"].values.astype(float)
    results["hour_fog_share"] = ("hour", counts * (np.arange(len(counts)) % 40 == 0))
    results["hour_visibility_m"] = ("hour", np.geomspace(15.0, 900.0, len(counts)))
    return results
