"""Site files that a command writes into a folder of its own."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fencecast.site import Site


def seen_from(site: Site, folder: Path) -> Site:
    """The site with the path of its weather file as it is seen from another folder; an absolute one stays.

    Links are followed first: a `..` behind one leads up from where it points, not from where it stands.
    """
    path = site.weather_path
    if path is None or site.folder is None or Path(site.weather_file.path).is_absolute():
        return site
    seen = Path(os.path.relpath(os.path.realpath(path.parent), os.path.realpath(folder))) / path.name
    return site.replace(weather_file=site.weather_file.model_copy(update={"path": seen.as_posix()}))
