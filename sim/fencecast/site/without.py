"""A site as it is when some of its cameras have failed, and what goes with cameras or with stimuli that are taken away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from fencecast.errors import UnknownNameError, UsageError
from fencecast.site.quantity import Quantity
from fencecast.site.stimulustables import Stimulus
from fencecast.site.whole import TITLE_LENGTH, Site
from fencecast.site.write import site_to_toml


def without_cameras(site: Site, marks: Sequence[str]) -> Site:
    """The site without these cameras, its title saying so; the same site when no mark is given.

    Rules keep their other cameras. One that listened only to lost cameras stays in the simulation, where no camera serves it (Pd
    0, not unknown), and is left out of the text that goes into the results: a file has no way to say so. So is what was counted
    on the whole site ([[soak]]), which `counted_site` has.
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
        stimulus=stimuli_of(site, [camera.mark for camera in site.camera if camera.mark not in marks]),
        soak=(),
    )
    text = f"# From the site file with SHA-256 {site.sha256}, without {listed(marks)}.\n{site_to_toml(reduced)}"
    return counted_as(reduced._with_rules(rules, text, site.sha256), site)


def counted_site(site: Site) -> Site:
    """The site as it was when alarms were counted on it ([[soak]]): itself, or the one whose cameras were taken or changed."""
    return site._counted_as or site


def counted_as(made: Site, site: Site) -> Site:
    """`made`, a site with fewer or other cameras and no log of its own: alarms were counted on `site`, which goes with it."""
    made._counted_as = counted_site(site)
    return made


def listed(marks: Sequence[str]) -> str:
    """'C1', 'C1 and C2', 'C1, C2 and C3'."""
    return marks[0] if len(marks) == 1 else f"{', '.join(marks[:-1])} and {marks[-1]}"


def stimuli_of(site: Site, marks: Iterable[str]) -> tuple[Stimulus, ...]:
    """The site's stimuli where only cameras with these marks are left.

    One that was said of other cameras alone stays in its row and has a rate of 0, so that ceilings and counts keep what they
    belong to.
    """
    left = set(marks)
    return tuple(_with_cameras(each, tuple(mark for mark in each.cameras if mark in left)) for each in site.stimulus)


def _with_cameras(stimulus: Stimulus, kept: tuple[str, ...]) -> Stimulus:
    if kept == stimulus.cameras:
        return stimulus
    keys = {key: getattr(stimulus, key) for key in stimulus.model_fields_set if getattr(stimulus, key) is not None}
    keys |= {"cameras": kept} if kept else {"per_night": Quantity.fixed(0.0)}
    return Stimulus(**{key: value for key, value in keys.items() if kept or key != "cameras"})


def no_stimuli(site: Site) -> dict[str, Any]:
    """Changes for `Site.replace` that take everything about nuisance alarms away; {} for a site that says nothing of them."""
    if not site.stimulus:
        return {}
    ceilings = ("nuisance_per_night", "nuisance_bad_night")
    requirement = {key: getattr(site.requirement, key) for key in site.requirement.model_fields_set if key not in ceilings}
    return {"stimulus": (), "soak": (), "nuisance": {}, "requirement": requirement}
