"""Changes that cost nothing but typing: where a rule's line lies, and which cameras it hears."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.errors import InputError
from fencecast.review.cover import cover, unheard_help
from fencecast.site import Site

OFFSETS_M = (0.5, 1.0, 2.0, 3.0)  # tried for a line that runs along a section


@dataclass(frozen=True)
class FreeChange:
    """A site with one rule changed, its kind ("rule") and what was done in words."""

    site: Site
    words: str
    kind: str = "rule"


def named_changes(site: Site) -> list[FreeChange]:
    """For each rule that does not hear a camera which resolves places of it that no heard one does (`not-heard` of the design
    review), the site in which it does."""
    marks = [camera.mark for camera in site.camera]
    found = []
    for k, cameras in sorted((k, cameras) for k, cameras in unheard_help(cover(site)).items() if len(cameras)):
        rule, more = site.rule[k], [marks[c] for c in cameras]
        heard = tuple(mark for mark in marks if mark in rule.cameras or mark in more)
        found.append(FreeChange(with_rule(site, k, cameras=heard), f"let {rule_name(site, k)} hear {', '.join(more)} too"))
    return found


def rule_name(site: Site, number: int) -> str:
    """`rule 2 (north fence)`."""
    section = site.rule[number].perimeter
    return f"rule {number + 1}" + (f" ({section})" if section else "")


def rule_changes(site: Site, sections: set[str]) -> list[FreeChange]:
    """Rules hearing more cameras, and every line along a section at another depth; what no site file may say is left out.

    A rule is to hear those cameras that the design review finds to resolve places of it which no heard one does (`not-heard`);
    where it finds none, all cameras.
    sections: the names of those where something is short; rules along other sections are left alone.
    """
    found = []
    marks = tuple(camera.mark for camera in site.camera)
    helping = unheard_help(cover(site))
    for k, rule in enumerate(site.rule):
        if rule.perimeter and rule.perimeter not in sections:
            continue
        name = rule_name(site, k)
        unheard = [marks[c] for c in helping.get(k, ())] or [mark for mark in marks if mark not in rule.cameras]
        if unheard:
            heard = tuple(mark for mark in marks if mark in rule.cameras or mark in unheard)
            found.append((k, {"cameras": heard}, f"let {name} hear {', '.join(unheard)} too"))
        if rule.kind == "line" and rule.perimeter:
            near = [offset for offset in OFFSETS_M if abs(offset - rule.offset_m) > 1e-9]
            found += [
                (k, {"offset_m": offset}, f"move the line of {name} from {rule.offset_m:g} to {offset:g} m inside the fence")
                for offset in near
            ]
    sites = []
    for k, values, words in found:
        try:
            sites.append(FreeChange(with_rule(site, k, **values), words))
        except InputError:  # a line that does not fit there
            continue
    return sites


def with_rule(site: Site, number: int, **values) -> Site:
    """The site with other values of one rule; every rule keeps what it named (InputError as for a file)."""
    rules = []
    for k, rule in enumerate(site.rule):
        keys = {key: getattr(rule, key) for key in rule.model_fields_set if getattr(rule, key) is not None}
        rules.append({**keys, **values} if k == number else keys)
    return site.replace(rule=rules, variant=())
