"""A site as it is when some of its cameras have failed."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.errors import UnknownNameError, UsageError
from fencecast.site.whole import TITLE_LENGTH, Site
from fencecast.site.write import site_to_toml


def without_cameras(site: Site, marks: Sequence[str]) -> Site:
    """The site without these cameras, its title saying so; the same site when no mark is given.

    Rules keep their other cameras. One that listened only to lost cameras stays in the simulation, where no camera serves it (Pd
    0, not unknown), and is left out of the text that goes into the results: a file has no way to say so.
    Raises UnknownNameError for a mark that the site does not have, UsageError when no rule would listen to any camera.
    """
    marks = list(dict.fromkeys(marks))
    known = [camera.mark for camera in site.camera]
    for mark in marks:
        if mark not in known:
            raise UnknownNameError("camera", mark, known)
    if not marks:
        return site
    rules = tuple(
        rule.model_copy(update={"cameras": tuple(mark for mark in rule.cameras if mark not in marks)}) for rule in site.rule
    )
    served = tuple(rule for rule in rules if rule.cameras)
    if not served:
        raise UsageError(f"without {listed(marks)} no rule listens to any camera any more: Pd is 0 everywhere; leave one in")
    ending = f" without {listed(marks)}"
    reduced = site.replace(
        title=f"{site.title[: max(TITLE_LENGTH - len(ending), 1)].rstrip()}{ending}"[:TITLE_LENGTH],
        camera=tuple(camera for camera in site.camera if camera.mark not in marks),
        rule=served,
        variant=(),
    )
    text = f"# From the site file with SHA-256 {site.sha256}, without {listed(marks)}.\n{site_to_toml(reduced)}"
    return reduced._with_rules(rules, text, site.sha256)


def listed(marks: Sequence[str]) -> str:
    """'C1', 'C1 and C2', 'C1, C2 and C3'."""
    return marks[0] if len(marks) == 1 else f"{', '.join(marks[:-1])} and {marks[-1]}"
