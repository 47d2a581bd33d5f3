"""Site files that a command writes into a folder of its own."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fencecast.site import Site


def seen_from(site: Site, folder: Path) -> Site:
    """The site with the paths of its weather file and picture as they are seen from another folder; absolute ones stay.

    Links are followed first: a `..` behind one leads up from where it points, not from where it stands.
    """
    changes: dict = {}
    for name, keys in (("weather_file", ("path",)), ("picture", ("path", "world"))):
        table = getattr(site, name)
        found = {key: getattr(table, key) for key in keys if table is not None and getattr(table, key) is not None}
        moved = {key: _seen(site.folder, path, folder) for key, path in found.items() if site.folder is not None}
        if moved:
            changes[name] = table.model_copy(update=moved)
    return site.replace(**changes) if changes else site


def _seen(home: Path, path: str, folder: Path) -> str:
    if Path(path).is_absolute():
        return path
    place = home / path
    return (Path(os.path.relpath(os.path.realpath(place.parent), os.path.realpath(folder))) / place.name).as_posix()
