"""Mutated drawings for fuzzing: bytes and structures of good ones, changed at random. tests/maps/test_fuzz.py runs 1,000 of them,
benchmarks/drawings.py 10,000."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from pathlib import Path

from fencecast.errors import FencecastError
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site
from maps.drawn import geojson, kml, kmz, yard

_VALUES = (
    None, True, 0, -1, 1e308, -0.0, 90.0, 181.0, 54.07, 6.41, 10**30, "", "x" * 300, "6.41", [], {}, [6.41], [[6.41, 54.07]],
    [6.41, 54.07, 9],
    "\u0000", "Größe\n", "fence", "Point", "Polygon", "NaN", [6.41, None], [[6.41, 54.07], [6.41, 54.07]],
)  # fmt: skip


def mutated(number: int) -> tuple[str, bytes, dict]:
    """(file name, content, options) of one mutation."""
    random_ = random.Random(number)
    features = [json.loads(json.dumps(f)) for f in yard()]
    for _ in range(random_.randint(0, 4)):
        _change(features, random_)
    random_.shuffle(features)
    options: dict = random_.choice(
        ({}, {}, {"leave_out": True}, {"near": (54.0, 6.0)}, {"crs": "site"}, {"swap": True}, {"crs": "EPSG:32632"})
    )
    kind = random_.choice(("geojson", "geojson", "kml", "kmz", "bytes", "kmlbytes", "kmzbytes"))
    if kind in ("geojson", "bytes"):
        content = geojson(*features)
    else:
        try:
            content = kml(*[f for f in features if isinstance(f, dict)])
        except (TypeError, KeyError, ValueError, IndexError, AttributeError):
            content = kml(*yard())
    if kind.startswith("kmz"):
        content = kmz(content)
    if kind.endswith("bytes"):
        content = _bytes(content, random_)
    name = "y.kmz" if kind.startswith("kmz") else "y.kml" if kind.startswith("kml") else "y.geojson"
    return name, content, options


def _places(thing, path=()) -> Iterator[tuple]:
    yield path
    items = thing.items() if isinstance(thing, dict) else enumerate(thing) if isinstance(thing, list) else ()
    for key, part in items:
        yield from _places(part, (*path, key))


def _change(features: list, random_: random.Random) -> None:
    path = random_.choice(list(_places(features))[1:] or [(0,)])
    holder = features
    for key in path[:-1]:
        holder = holder[key]
    action = random_.random()
    if action < 0.6:
        holder[path[-1]] = copy.deepcopy(random_.choice(_VALUES))
    elif action < 0.8 and isinstance(holder, list):
        holder.insert(path[-1], copy.deepcopy(holder[path[-1]]))
    elif action < 0.9 and isinstance(holder[path[-1]], (int, float)):
        holder[path[-1]] += random_.choice((1e-9, 1e-6, 1e-4, 0.5, 100.0))
    elif len(holder) > 1:
        del holder[path[-1]]


def _bytes(content: bytes, random_: random.Random) -> bytes:
    made = bytearray(content)
    for _ in range(random_.randint(1, 5)):
        at = random_.randrange(len(made))
        action = random_.random()
        if action < 0.5:
            made[at] = random_.randrange(256)
        elif action < 0.75:
            del made[at : at + random_.randint(1, 40)]
        else:
            made[at:at] = made[at : at + random_.randint(1, 40)]
        made = made or bytearray(b" ")
    return bytes(made)


def outcome(number: int, folder: Path) -> str:
    """What became of one mutation: "site" or the kind of refusal; any other exception is a fault of the program and goes up."""
    name, content, options = mutated(number)
    path = folder / name
    path.write_bytes(content)
    try:
        make_site([str(path)], Asked(**options))
    except FencecastError as error:
        assert error.exit_code == 2, error
        assert str(error)
        return type(error).__name__
    return "site"
