"""`fencecast bill`: what a site and its other designs cost at the user's prices, for each metre that meets."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from os import PathLike
from typing import TYPE_CHECKING

from fencecast.decide.bill.lines import Bill, bill_of
from fencecast.decide.bill.options import Option, Simulated, options_of
from fencecast.errors import close_match
from fencecast.site import Site, as_site
from fencecast.site.review import day_of

if TYPE_CHECKING:
    import xarray as xr

    from fencecast.estimate.results import Results

OLD_DAYS = 365


@dataclass(frozen=True)
class Bills:
    """The bills of a site's designs, the base first, and what must be known to read them. Not for a client edition: it tells
    what is mounted where and what was paid.

    simulated: by what; age_days: of the prices on the day that was asked, None without a date (negative: dated later);
    strays: names priced in `[prices] depends_on` that no camera of any design has, each with the name that was probably meant;
    unused: priced sensors and lenses that no design has; own_prices: designs at prices of their own files.
    """

    site: Site
    bills: tuple[Bill, ...]
    simulated: Simulated
    age_days: int | None
    strays: tuple[tuple[str, str | None], ...]
    unused: tuple[str, ...]
    own_prices: tuple[str, ...]

    @property
    def currency(self) -> str:
        """As the user wrote it; "" when he did not."""
        return (self.site.prices.currency or "") if self.site.prices else ""

    @property
    def old(self) -> bool:
        """Whether the prices are older than a year."""
        return self.age_days is not None and self.age_days > OLD_DAYS


def bill(
    site: Site | str | PathLike[str],
    results: Results | xr.Dataset | str | PathLike[str] | None = None,
    date: str | datetime.date | None = None,
) -> Bills:
    """Quantities and prices of a site, item by item, its designs side by side; nothing is simulated.

    results: of this site, from `run`, `compare` or `place` (a Dataset, a results file, or the folder of a proposal): with them
    every design has the metres that meet in every weather class, and what one of these costs. They may be older than the site's
    prices. Without results the designs are the site and its `[[variant]]` tables. date: the day (or "2026-11-29") on which the
    age of the prices is asked; today when None.
    Raises InputError for a site that cannot be used, UsageError for results of another site and a date that is none.
    """
    loaded = as_site(site)
    day = _day(date)
    options, simulated = options_of(loaded, results)
    bills = tuple(bill_of(option.site, option.name, option.meets_m, option.turned) for option in options)
    dated = loaded.prices.date if loaded.prices else None
    strays, unused = _not_there(loaded, options)
    return Bills(
        site=loaded,
        bills=bills,
        simulated=simulated,
        age_days=None if dated is None else (day - dated).days,
        strays=strays,
        unused=unused,
        own_prices=tuple(option.name for option in options if option.own_prices),
    )


def _day(date: str | datetime.date | None) -> datetime.date:
    if isinstance(date, datetime.datetime):
        return date.date()
    if date is None or isinstance(date, datetime.date):
        return date or datetime.date.today()
    return day_of(date)


def _not_there(site: Site, options: list[Option]) -> tuple[tuple[tuple[str, str | None], ...], tuple[str, ...]]:
    """Prices of what no design has: names in depends_on with the nearest that exists, and sensors and lenses."""
    cameras = [camera for option in (Option("", site), *options) for camera in option.site.camera]
    known = {camera.depends_on for camera in cameras if camera.depends_on}
    priced = site.prices.depends_on if site.prices else {}
    strays = tuple((name, close_match(name, known)) for name in priced if name not in known)
    used = {("sensor", camera.sensor) for camera in cameras} | {("lens", camera.lens) for camera in cameras}
    parts = [("sensor", name, part.price) for name, part in site.sensors.items()]
    parts += [("lens", name, part.price) for name, part in site.lenses.items()]
    return strays, tuple(f"{kind} {name}" for kind, name, price in parts if price is not None and (kind, name) not in used)
