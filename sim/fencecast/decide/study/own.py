"""A user's own strategies: what they return is checked by name, and which files they are made of is hashed into every piece."""

from __future__ import annotations

import ast
import hashlib
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import shapely

from fencecast.decide.place.kit import buildings, mounting_shape, mountings_of
from fencecast.errors import FencecastError, UsageError
from fencecast.site.schema import Camera

# How far from a mounting place, or from the face of a building, a camera may be written [m]: rounding, and a bracket.
_NEAR_M = 0.25


class StrategyError(UsageError):
    """A user's own strategy answers what cannot be used: the study ends, where one without a layout is only left out of it."""


def checked(function: Callable, name: str) -> Callable:
    """A user's function, its answer checked: cameras, or tables with the keys of [[camera]].

    A UsageError of its own says that it has no layout here; whatever else it raises ends the study, by its name.
    """

    def strategy(site, kit, requirement, **options) -> tuple[Camera, ...]:
        try:
            answer = function(site, kit, requirement, **options)
        except FencecastError:
            raise
        except Exception as error:
            raise StrategyError(f"strategy {name} failed: {type(error).__name__}: {error}") from error
        try:
            cameras = tuple(each if isinstance(each, Camera) else Camera(**each) for each in answer)
        except Exception as error:
            must = f"strategy {name} must return cameras, or tables with the keys of [[camera]]"
            raise StrategyError(f"{must}: {_faults(error)}") from None
        if not cameras:
            raise UsageError(f"strategy {name} returned no camera")
        marks = [camera.mark for camera in cameras]
        twice = sorted({mark for mark in marks if marks.count(mark) > 1})
        if twice:
            raise StrategyError(f"strategy {name} returned several cameras of one mark: {', '.join(twice)}")
        return cameras

    return strategy


def _faults(error: Exception) -> str:
    """What is wrong with a table, key by key where the reader of tables says so."""
    faults = getattr(error, "errors", None)
    if not callable(faults):
        return " ".join(str(error).split())
    return "; ".join(f"{'.'.join(map(str, fault['loc'])) or 'the table'}: {fault['msg']}" for fault in faults())


def check_places(site, cameras: Iterable[Camera], name: str, by_cost: bool) -> None:
    """Refuse cameras where no camera may hang, or without a price where designs are compared at equal cost.

    Allowed: the places of [[mounting]] at one of their heights, and faces of obstacles up to the roof. StrategyError otherwise.
    """
    mountings = [(mounting, mounting_shape(mounting)) for mounting in mountings_of(site)]
    faces = [(solid.exterior, roof) for solid, roof in buildings(site)]
    for camera in cameras:
        if by_cost and camera.price is None:
            raise StrategyError(
                f"strategy {name} gives {camera.mark} no price, and designs are compared at equal cost; give each a price, "
                'or compare at equal numbers: [equal] by = "cameras"'
            )
        point = shapely.Point(camera.position_m)
        here = [mounting for mounting, shape in mountings if shape.distance(point) <= _NEAR_M]
        on_face = any(camera.height_m <= roof and ring.distance(point) <= _NEAR_M for ring, roof in faces)
        if on_face or any(camera.height_m in mounting.heights_m for mounting in here):
            continue
        where = f"strategy {name} puts {camera.mark} at {_numbers(camera.position_m)} m, {camera.height_m:g} m up"
        if here:
            heights = sorted({height for mounting in here for height in mounting.heights_m})
            raise StrategyError(f"{where}; heights allowed there: {_numbers(heights)} m")
        raise StrategyError(f"{where}, which is no place of [[mounting]] and no face of an obstacle")


def _numbers(values: Iterable[float]) -> str:
    return ", ".join(f"{value:g}" for value in values)


def sources_hash(module: str) -> str:
    """SHA-256 of the source of a module and of all that it imports from the folder that it lies in, by name and content."""
    found = getattr(sys.modules[module], "__file__", None)
    if not found:
        return ""
    top = Path(found).resolve()
    root = top.parents[len(module.split(".")) - 1 + (top.name == "__init__.py")]
    seen: dict[str, bytes] = {}
    waiting = [top]
    while waiting:
        path = waiting.pop()
        name = path.relative_to(root).as_posix()
        if name not in seen:
            seen[name] = path.read_bytes()
            waiting += _imported(path, seen[name], root)
    digest = hashlib.sha256()
    for name in sorted(seen):
        digest.update(f"{name}\0{hashlib.sha256(seen[name]).hexdigest()}\n".encode())
    return digest.hexdigest()


def _imported(path: Path, source: bytes, root: Path) -> Iterator[Path]:
    """Files under a folder that a source file imports, wherever in it."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names, base = [alias.name for alias in node.names], root
        elif isinstance(node, ast.ImportFrom):
            base = path.parents[node.level - 1] if node.level else root
            stem = node.module or ""
            names = [stem, *(f"{stem}.{alias.name}".lstrip(".") for alias in node.names)]
        else:
            continue
        for name in filter(None, names):
            parts = name.split(".")
            for k in range(len(parts)):
                place = base.joinpath(*parts[: k + 1])
                yield from (each for each in (place.with_suffix(".py"), place / "__init__.py") if each.is_file())
