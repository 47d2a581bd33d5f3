"""How a typed program uses the public functions; nothing runs it, CI reads it with `mypy`.

Catches: a public function without types, a name that type checkers cannot see behind the lazy import.
"""

from pathlib import Path

import xarray as xr

import fencecast as fc


def everything(path: Path) -> list[xr.Dataset]:
    site: fc.Site = fc.load_site(path)
    run: xr.Dataset = fc.run(str(path), seed=7, precision=0.02)
    lost = fc.lose_each(run, by="depends_on", site=site)
    fc.save_results(lost, "results.nc")
    proposal: fc.Proposal = fc.place(site.replace(title="Other"), cameras=2, candidates=100, crossings=64)
    change: fc.Remedy | None = fc.remedy(path, weather=["fog"])
    designs: list[fc.Variant] = fc.lens_variants(site, ["wide", "long"]) + fc.table_variants(site)
    found = fc.compare(*designs), fc.compare("before.toml", path), fc.compare([site, fc.without_cameras(site, ["C1"])])
    ranges = fc.ranges(site)["cameras"]
    look = fc.explain(site, "C1", "fog", 40.0)
    frames: list[fc.ViewFrame] = fc.view(site, "C1", "fog", [10.0, 20.0])
    sheets: fc.Aim = fc.aim(site, cameras=["C1"], marks=6, reader="North Works")
    data = fc.aim_data(sheets, "C1").title, sheets.of("C1").mount.bearing_deg
    hours = fc.weather(path).period_years
    total: float | None = fc.bill(site, run, date="2026-11-29").bills[0].total
    checks = fc.verify()
    results = fc.Results.of(fc.open_results(path))
    places = [place.code for place in results.weak_places]
    part: xr.Dataset = results.sel("A 10-12 m", weather="clear night")
    cited: str = fc.cite(run, "bibtex") + fc.cite()
    print(part, cited, proposal.site.title, change, data, ranges, look, frames, hours, total, checks, places, results.requirement)
    return [run, *found, fc.study("study.toml", workers=1)]
