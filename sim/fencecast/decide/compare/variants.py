"""Where variants come from: a lens for another, other site files, `[[variant]]` tables; and whether they can be compared."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path
from typing import cast

from fencecast.decide.layout import price_with_lens
from fencecast.errors import UnknownNameError, UsageError, name_list
from fencecast.meteorology.load import classes_of, load_year
from fencecast.meteorology.year import Year
from fencecast.site import Site, as_site, load_site, without_cameras
from fencecast.site.fill import without_repeat
from fencecast.site.mounting import need_camera
from fencecast.site.schema import Camera, Perimeter

# Corners of the same fence may differ by this: sites are drawn to decimetres, and unit conversions leave less.
_SAME_M = 1e-6
_NAME_LENGTH = 40


@dataclass(frozen=True)
class Variant:
    """One design: its name as it is printed, its site, and the lens whose curve against distance stands for it."""

    name: str
    site: Site
    lens: str = field(default="")

    @property
    def shown_lens(self) -> str:
        """`lens`, or else the lens that most of its cameras have."""
        used = [camera.lens for camera in self.site.camera]
        return self.lens or max(dict.fromkeys(used), key=used.count)

    @property
    def price(self) -> float:
        """Sum of the cameras' prices; NaN unless every camera has one."""
        return math.fsum(math.nan if camera.price is None else camera.price for camera in self.site.camera)


def lens_variants(site: Site, lenses: Sequence[str], cameras: Sequence[str] = ()) -> list[Variant]:
    """The site with each of these lenses on the named cameras (all when none is named); aims and heights stay.

    With one lens the site as it is comes first. Variants have the lenses' own names, as everything in results that is by lens;
    focal lengths stand in pictures and tables for people. A camera's price follows when both its old and its new lens have one.
    Raises UnknownNameError for a lens or a camera that the site does not have, UsageError for a lens named twice.
    """
    marks = [camera.mark for camera in site.camera]
    for mark in cameras:
        if mark not in marks:
            raise UnknownNameError("camera", mark, marks)
    for lens in lenses:
        if lens not in site.lenses:
            raise UnknownNameError("lens", lens, site.lenses)
    if len(set(lenses)) < len(lenses):
        raise UsageError("--lens names the same lens twice; name two different lenses, for instance --lens wide --lens long")
    chosen = set(cameras or marks)
    variants = [Variant("base", site)] if len(lenses) == 1 else []
    for lens in lenses:
        swapped = tuple(_with_lens(site, camera, lens) if camera.mark in chosen else camera for camera in site.camera)
        variants.append(Variant(lens, site.replace(camera=swapped, variant=()), lens))
    return variants


# What compares: `designs_asked` says how each is named.
Design = Site | Variant | str | PathLike[str]


def _with_lens(site: Site, camera: Camera, lens: str) -> Camera:
    return camera.model_copy(update={"lens": lens, "price": price_with_lens(site, camera, lens)})


def classes_at_the_same_hours(base: Site, other: Site, year: Year | None = None) -> tuple:
    """Every weather class of a variant that may be compared with the base; its hours are those that the base sorts into it.

    Another ground has other contrasts, so its own hours would be sorted otherwise, and both designs of a class would meet
    different hours. year: the base's, when it is read already. Where the sites come to the same it is used as it is.
    """
    if base.weather_file is None:
        return classes_of(other)
    from fencecast.meteorology.sorting import class_of_hours, sort_hours

    year = load_year(base) if year is None else year
    alike = (base.site, base.armed) == (other.site, other.armed)
    return sort_hours(year if alike else load_year(other), class_of_hours(year), year)


def file_variants(paths: Sequence[str | PathLike]) -> list[Variant]:
    """One variant for each site file, named by its file; the first is the base."""
    stems = [Path(path).stem for path in paths]
    names = stems if len(set(stems)) == len(stems) else [str(path) for path in paths]
    if len(set(names)) < len(names):
        raise UsageError("the same site file is named twice; name two different files")
    return [Variant(name, load_site(path)) for name, path in zip(names, paths)]


def table_variants(site: Site) -> list[Variant]:
    """The site as it is, and one variant for each of its `[[variant]]` tables. UsageError when it has none."""
    if not site.variant:
        raise UsageError(
            "there is nothing to compare: name lenses (--lens wide --lens long), a second site file, or add a table to the site "
            'file, for instance [[variant]] with name = "long lenses" and change.camera.C1.lens = "long"'
        )
    varied = [Variant(table.name, without_cameras(site.varied(table), table.without)) for table in site.variant]
    return [Variant("base", site), *varied]


def designs_asked(
    designs: Sequence[Design | Sequence[Design]], lenses: Sequence[str] = (), cameras: Sequence[str] = ()
) -> list[Variant]:
    """What is to be compared, from how it was asked for: the first is the base.

    A single site (or path) stands for its lenses when they are named, else for its `[[variant]]` tables.
    """
    given: list[Design] = []
    for each in designs:
        given += list(each) if isinstance(each, (list, tuple)) else [cast(Design, each)]
    if not given:
        raise UsageError('there is nothing to compare; type for instance fc.compare("before.toml", "after.toml")')
    if len(given) > 1:
        if lenses or cameras:
            raise UsageError("--lens and --camera go with one site file: several files are compared as they are; leave them out")
        return _named_designs(given)
    site = as_site(given[0])
    if cameras and not lenses:
        raise UsageError("--camera says on which cameras lenses are swapped; name the lenses too, for instance --lens long")
    return lens_variants(site, lenses, cameras) if lenses else table_variants(site)


def _named_designs(given: Sequence[Design]) -> list[Variant]:
    """Variants keep their names, files are named by themselves, sites by their titles where these are short and differ."""
    paths = [each for each in given if isinstance(each, (str, PathLike))]
    from_files = iter(file_variants(paths))
    sites = [each for each in given if isinstance(each, Site)]
    titles = [site.title for site in sites]
    short = len(set(titles)) == len(titles) and all(len(title) <= _NAME_LENGTH for title in titles)
    found = []
    for number, each in enumerate(given, start=1):
        if isinstance(each, Variant):
            found.append(each)
        elif isinstance(each, (str, PathLike)):
            found.append(next(from_files))
        else:
            site = as_site(each)
            found.append(Variant(site.title if short else "base" if number == 1 else f"design {number}", site))
    return found


def comparable(variants: Sequence[Variant]) -> list[Variant]:
    """The variants with their perimeters in the base's order; UsageError, with all reasons, when the fence differs.

    Segments are matched by the section's name and their number in it: sections, cuts, requirement and weather classes with
    their hours must agree. Barriers, obstacles, cameras, rules, intruders and the weather itself may differ.
    """
    names = [variant.name for variant in variants]
    if len(variants) < 2:
        raise UsageError("a comparison needs two variants or more")
    if len(set(names)) < len(names):
        raise UsageError(f"two variants have the same name: {name_list(names)}")
    for variant in variants:
        need_camera(variant.site)
    base = variants[0]
    reasons = [reason for other in variants[1:] for reason in _reasons(base, other)]
    if reasons:
        lines = "".join(f"\n  {reason}" for reason in reasons)
        raise UsageError(f'these cannot be compared with "{base.name}", segment by segment:{lines}')
    order = [section.name for section in base.site.perimeter]
    matched = [base]
    for other in variants[1:]:
        by_name = {section.name: section for section in other.site.perimeter}
        perimeter = tuple(by_name[name] for name in order)
        site = other.site if perimeter == other.site.perimeter else other.site.replace(perimeter=perimeter, variant=())
        matched.append(Variant(other.name, site, other.lens))
    return matched


def _reasons(base: Variant, other: Variant) -> list[str]:
    mine, theirs = base.site, other.site
    reasons = []

    def differ(what: str, a: object, b: object) -> None:
        if a != b:
            reasons.append(f'"{other.name}": {what} {b}, not {a}')

    sections = [{section.name: section for section in site.perimeter} for site in (mine, theirs)]
    for name in sections[0].keys() - sections[1].keys():
        reasons.append(f'"{other.name}" has no section "{name}"; it has {name_list(sections[1])}')
    for name in sections[1].keys() - sections[0].keys():
        reasons.append(f'"{other.name}" has a section "{name}" more')
    for name in sections[0].keys() & sections[1].keys():
        reasons += _fence_reasons(other.name, sections[0][name], sections[1][name])
    differ("segment_length_m of [site] is", mine.site.segment_length_m, theirs.site.segment_length_m)
    differ("pd of [requirement] is", mine.requirement.pd, theirs.requirement.pd)
    differ("confidence of [requirement] is", mine.requirement.confidence, theirs.requirement.confidence)
    hours = [{weather.name: weather.hours_per_year for weather in site.weather} for site in (mine, theirs)]
    if mine.armed != theirs.armed:
        reasons.append(f'"{other.name}": [armed] differs')
    reasons += _record_reasons(other.name, mine, theirs)
    differ("the weather classes are", name_list(hours[0]), name_list(hours[1]))
    for name in hours[0].keys() & hours[1].keys():
        differ(f'the hours of "{name}" are', hours[0][name], hours[1][name])
    return sorted(reasons)


def _record_reasons(name: str, mine: Site, theirs: Site) -> list[str]:
    """Whether two sites read the same record in the same way: the same path means another file in another folder."""
    ours, other = mine.weather_file, theirs.weather_file
    if ours is None or other is None:
        return [] if ours is other else [f'"{name}": [weather_file] is in one of the two only']
    if ours != other.model_copy(update={"path": ours.path}):
        return [f'"{name}": [weather_file] differs']
    records = [_digest(site.weather_path) for site in (mine, theirs)]
    if records[0] not in (None, records[1]):
        what = "is not there" if records[1] is None else "is another record"
        return [f'"{name}": [weather_file] path "{other.path}" {what}']
    places = [(site.site.latitude, site.site.longitude) for site in (mine, theirs)]
    return [] if places[0] == places[1] else [f'"{name}": latitude and longitude of [site] differ']


def _digest(path: Path | None) -> bytes | None:
    """What stands in a file, hashed; None when it cannot be read. (Of the base that is said in full when its hours are read.)"""
    if path is None:
        return None
    try:
        return hashlib.sha256(path.read_bytes()).digest()
    except OSError:
        return None


def _fence_reasons(name: str, mine: Perimeter, theirs: Perimeter) -> list[str]:
    points = [without_repeat(section.points_m) if section.closed else section.points_m for section in (mine, theirs)]
    if mine.closed != theirs.closed or mine.inside != theirs.inside:
        return [f'"{name}": section "{mine.name}" has another inside, or is closed in one and open in the other']
    if len(points[0]) != len(points[1]):
        return [f'"{name}": section "{mine.name}" has {len(points[1])} points, not {len(points[0])}']
    for number, (a, b) in enumerate(zip(*points), start=1):
        if math.dist(a, b) > _SAME_M:
            return [f'"{name}": point {number} of section "{mine.name}" is {list(b)}, not {list(a)}']
    return []
