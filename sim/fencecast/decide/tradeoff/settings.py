"""The settings that `fencecast tradeoff` tries: one family at a time, all else as the site file has it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from fencecast.errors import InputError, UsageError
from fencecast.site import Quantity, Site

AS_IT_IS = "as it is"
_SAME = 1e-9


@dataclass(frozen=True)
class Setting:
    """One row: its family ("threshold", ...; "as it is" for the site file's own), value as it is typed, and its site."""

    family: str
    value: str
    site: Site

    @property
    def label(self) -> str:
        """`confirm 5/8`, `as it is`."""
        return f"{self.family} {self.value}" if self.value else self.family


@dataclass(frozen=True)
class Family:
    """A key that is tried at several values.

    ladder: what is tried when no family is named (judgement: steps that an engineer would try by hand). site: the site at one
    value. base: the value of the site file, None where it has no single one. not_here: why the site has no use for it, or "".
    """

    name: str
    option: str
    ladder: tuple
    site: Callable[[Site, float | tuple[int, int]], Site]
    base: Callable[[Site], float | tuple[int, int] | None]
    not_here: Callable[[Site], str] = lambda site: ""


def _decision(key: str, value: Callable = lambda number, site: number) -> Callable:
    def changed(site: Site, number) -> Site:
        keys = {name: getattr(site.decision, name) for name in site.decision.model_fields_set}
        return site.replace(decision={**keys, key: value(number, site)}, variant=())

    return changed


def _moved(key: str) -> Callable:
    """The site's own quantity with another median; its spread stays what it is of the median, so that one thing changes alone."""

    def at(number: float, site: Site) -> Quantity:
        own = getattr(site.decision, key)
        if own.is_fixed:
            return Quantity.fixed(number)
        if own.dist == "lognormal":
            return replace(own, median=float(number))
        times = number / own.middle()
        parts = {name: getattr(own, name) for name in ("low", "mode", "high", "mean", "sd")}
        made = {name: part * times for name, part in parts.items() if part is not None}
        return replace(own, **made, values=own.values and tuple(value * times for value in own.values))

    return at


def _rules(site: Site, kind: str, **values: Callable) -> Site:
    """The site with keys of all rules of a kind made anew from each rule."""
    rules = []
    for rule in site.rule:
        keys = {key: getattr(rule, key) for key in rule.model_fields_set if getattr(rule, key) is not None}
        rules.append(keys | ({key: make(rule) for key, make in values.items()} if rule.kind == kind else {}))
    return site.replace(rule=rules, variant=())


def _dwell_of(site: Site) -> float | None:
    found = {rule.dwell_s for rule in site.rule if rule.kind == "area"}
    return found.pop() if len(found) == 1 else None


def _no_rule(kind: str, what: str) -> Callable[[Site], str]:
    return lambda site: "" if any(rule.kind == kind for rule in site.rule) else f"no rule of this site is {what}"


FAMILIES = (
    Family(
        "threshold", "--threshold", (3.5, 4.0, 6.0, 8.0, 12.0),
        _decision("threshold_sigma", _moved("threshold_sigma")), lambda site: site.decision.threshold_sigma.middle(),
    ),
    Family(
        "N50", "--n50", (1.5, 2.5, 3.0, 4.0),
        _decision("cycles_50", _moved("cycles_50")), lambda site: site.decision.cycles_50.middle(),
    ),
    Family(
        "confirm", "--confirm", ((2, 3), (4, 6), (5, 8)),
        _decision("confirm", lambda pair, site: tuple(pair)), lambda site: tuple(site.decision.confirm),
    ),
    Family(
        "least size", "--least-size", (0.3, 0.45, 0.6),
        _decision("size_gate", lambda low, site: (low, site.decision.size_gate[1])), lambda site: site.decision.size_gate[0],
    ),
    Family(
        "dwell", "--dwell", (1.0, 2.0, 4.0),
        lambda site, seconds: _rules(site, "area", dwell_s=lambda rule: seconds), _dwell_of, _no_rule("area", "an area"),
    ),
    Family(
        "offset", "--offset", (1.0, 2.0, 3.0),
        lambda site, metres: _rules(site, "line", offset_m=lambda rule: rule.offset_m + metres), lambda site: 0.0,
        _no_rule("line", "a line"),
    ),
)  # fmt: skip


def settings_of(site: Site, asked: Mapping[str, str | Sequence | float | None]) -> tuple[list[Setting], list[str]]:
    """The site as it is, then every other setting family by family from low to high; and what was left out, a sentence each.

    asked: for families by name, their values: a text such as "4,5,6" or "2/3,5/8", a number or a list; None where nothing is
    asked. When nothing is asked of any family, every one that the site has a use for goes through its ladder, and values at which
    the site is none (a line that does not fit) are left out; when a value was asked for, UsageError says why it cannot be.
    """
    wanted = {name: _values(name, given) for name, given in asked.items() if given is not None}
    found, left = [Setting(AS_IT_IS, "", site)], []
    for family in FAMILIES:
        if wanted and family.name not in wanted:
            continue
        why = family.not_here(site)
        if why and wanted:
            raise UsageError(f"{family.option} has nothing to change: {why}; leave it out")
        if why:
            continue
        base = family.base(site)
        for value in wanted.get(family.name, family.ladder):
            if base is not None and _alike(value, base):
                continue
            try:
                found.append(Setting(family.name, value_text(value), family.site(site, value)))
            except InputError as error:
                if wanted:
                    raise UsageError(f"{family.option} {value_text(value)} cannot be: {error.problems[0]}") from None
                left.append(f"{family.name} {value_text(value)} is left out: {error.problems[0]}")
    if len(found) == 1:
        raise UsageError(
            "there is nothing to try: every value that was asked for is the site file's own; type for instance --threshold 4,6,8"
        )
    return found, left


def base_values(site: Site) -> dict[str, str]:
    """The site file's own value of every family, as it is typed; "" where it has no single one."""
    values = {family.name: family.base(site) for family in FAMILIES if not family.not_here(site)}
    return {name: "" if value is None else value_text(value) for name, value in values.items()}


def value_text(value: float | tuple[int, int]) -> str:
    """`4`, `0.45`, `3/5`: as it is typed."""
    return f"{value[0]}/{value[1]}" if isinstance(value, tuple) else f"{value:g}"


def _alike(a: float | tuple[int, int], b: float | tuple[int, int]) -> bool:
    return a == b if isinstance(a, tuple) or isinstance(b, tuple) else abs(a - b) < _SAME


def _values(name: str, given: str | Sequence | float) -> list:
    """The values that were asked for, each once, from low to high."""
    family = next(each for each in FAMILIES if each.name == name)
    example = ",".join(value_text(value) for value in family.ladder[:2])
    is_pair = name == "confirm"
    if isinstance(given, str):
        parts: Iterable = [part.strip() for part in given.split(",")]
    elif isinstance(given, (int, float)) or (is_pair and _is_pair(given)):
        parts = [given]
    else:
        parts = given
    read = _pair if is_pair else _number
    try:
        values = sorted({read(part) for part in parts})
    except (TypeError, ValueError):
        what = "pairs m/n of whole numbers" if is_pair else "numbers"
        raise UsageError(
            f"{family.option} {given!r} cannot be read: {what} with commas between; type {family.option} {example}"
        ) from None
    if not values:
        raise UsageError(f"{family.option} names no value; type for instance {family.option} {example}")
    return values


def _is_pair(given: object) -> bool:
    return isinstance(given, (tuple, list)) and len(given) == 2 and all(isinstance(part, int) for part in given)


def _pair(part: object) -> tuple[int, int]:
    if isinstance(part, str):
        m, n = part.split("/")
        return int(m), int(n)
    m, n = part  # type: ignore[misc]
    return int(m), int(n)


def _number(part: object) -> float:
    number = float(part)  # type: ignore[arg-type]
    if not math.isfinite(number):
        raise ValueError(part)
    return number
