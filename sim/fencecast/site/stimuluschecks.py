"""Checks across the keys of `[[stimulus]]`, `[[soak]]`, `[nuisance]` and the ceilings, and with the rest of a site."""

from __future__ import annotations

from fencecast.errors import Problem, close_match, name_list, show_value
from fencecast.site.reading import Draft, Entry, example_of
from fencecast.site.schema import check_of
from fencecast.site.stimuli import default_of, missing_keys
from fencecast.site.stimuluskinds import FAMILIES, KINDS
from fencecast.site.stimulustables import SENSOR_NOISE, Stimulus

_DENSITY = ("density_km2", "km_per_night")
_RATES = ("per_night_100m", "per_night", *_DENSITY)
_BODY_KEYS = (
    "perimeters", "per_night_100m", *_DENSITY, "through", "way", "offset_m", "base_m", "pause_s", "silhouette", "size_m",
    "size_sigma_ln", "speed_m_s", "coat_m2k_w", "leg_m2k_w", "rain_share",
)  # fmt: skip
_BURST_KEYS = ("duration_s", "cycles", "contrast_k", "relative_size", "on_line_share", "rate_follows", "cameras")
# A key that does nothing beside other values, the key that decides it, and the values with which it counts.
_BY_WAY = {"through": ("cross",), "offset_m": ("cross", "along"), "base_m": ("over",), "pause_s": ("over",)}
_BY_SILHOUETTE = {
    "size_m": ("four-legged", "flying", "vehicle"),
    "size_sigma_ln": ("four-legged", "flying", "vehicle"),
    "coat_m2k_w": ("four-legged", "flying"),
    "leg_m2k_w": ("four-legged",),
}
_CEILINGS = ("nuisance_per_night", "nuisance_bad_night")
_A_STIMULUS = '[[stimulus]] with kind = "cat"'


def check_stimuli(draft: Draft) -> None:
    """Adds a problem to `draft` for everything about nuisance alarms that does not fit together."""
    names: dict[str, int] = {}
    for number, entry in enumerate(draft.repeated["stimulus"], start=1):
        _name(draft, entry, number, names)
        if entry.table.kind is not None:
            _family(draft, entry)
            _rate(draft, entry)
            _place(draft, entry)
            _numbers(draft, entry)
    if not draft.rows.get("stimulus") and "stimulus" not in draft.meant:
        _without_stimuli(draft)
    else:
        _soaks(draft, list(names))


def _name(draft: Draft, entry: Entry, number: int, names: dict[str, int]) -> None:
    """A stimulus without a name is called by its kind."""
    if not entry.has("name") or (entry.table.name is None and not entry.has("kind")):
        return
    name = entry.table.name or entry.table.kind
    key = "name" if entry.table.name is not None else "kind"
    if name == SENSOR_NOISE:
        allowed = "another name: this one is kept for alarms that nothing causes"
        draft.refuse(f"{entry.where} {key}", name, allowed, 'name = "cat"')
    elif name in names:
        given = "" if key == "name" else " (a stimulus without a name is called by its kind)"
        allowed = f"a name that no other [[stimulus]] has; it names table number {names[name]} already{given}"
        draft.refuse(f"{entry.where} {key}", name, allowed, f"name = {show_value(f'{name} {number}')}")
    if name != SENSOR_NOISE:
        names.setdefault(name, number)


def _given(entry: Entry, keys) -> list[str]:
    return [key for key in keys if key in entry.given and entry.has(key) and getattr(entry.table, key) is not None]


def _refuse_key(draft: Draft, entry: Entry, key: str, allowed: str, instead: str = "") -> None:
    value = getattr(entry.table, key)
    draft.refuse(f"{entry.where} {key}", value.as_toml_value() if hasattr(value, "as_toml_value") else value, allowed, instead)


def _family(draft: Draft, entry: Entry) -> None:
    """Keys of the other family, and keys that another key makes idle."""
    table = entry.table
    kind = show_value(table.kind)
    other, keys = ("a burst", _BURST_KEYS) if table.family == "body" else ("a body", _BODY_KEYS)
    for key in _given(entry, keys):
        _refuse_key(
            draft, entry, key, f"only with {other}, and {kind} is {'a body' if other == 'a burst' else 'a burst'}; leave it out"
        )
    if table.family == "burst":
        return
    for decides, table_of in (("way", _BY_WAY), ("silhouette", _BY_SILHOUETTE)):
        value = getattr(table, decides) or default_of(table.kind, decides)
        if value is None or not entry.has(decides):
            continue
        for key in _given(entry, table_of):
            if value not in table_of[key]:
                words = " or ".join(show_value(each) for each in table_of[key])
                of_kind = "" if decides in entry.given else f", which {kind} has not"
                _refuse_key(draft, entry, key, f"only with {decides} = {words}{of_kind}; leave it out")


def _rate(draft: Draft, entry: Entry) -> None:
    """One rate: given once, or the kind's."""
    table = entry.table
    if any(key in entry.refused for key in _RATES):
        return
    burst = table.family == "burst"
    given = _given(entry, ("per_night",) if burst else _RATES)
    groups = list(dict.fromkeys("density_km2" if key in _DENSITY else key for key in given))
    words = (
        "per_night, events a night and camera"
        if burst
        else "per_night_100m, or per_night for the whole site, or density_km2 with km_per_night"
    )
    if len(groups) > 1:
        last = next(key for key in given if ("density_km2" if key in _DENSITY else key) == groups[-1])
        others = " and ".join(key for key in given if key != last)
        _refuse_key(draft, entry, last, f"one rate, not two: {words}; leave out this key, or {others}")
    elif not groups and not any(default_of(table.kind, key) is not None for key in _RATES):
        key = "per_night"
        allowed = f"a rate: {words}; {'this kind brings none' if table.kind in KINDS else 'no kind brings one'}"
        draft.refuse(f"{entry.where} {key}", Problem.MISSING, allowed, f"{key} = 6.0")
    elif groups == ["density_km2"]:
        for key in _DENSITY:
            if key not in given and default_of(table.kind, key) is None:
                allowed = f"beside {given[0]}: animals a km2 and the km that each walks a night make a rate together"
                draft.refuse(f"{entry.where} {key}", Problem.MISSING, allowed, f"{key} = {example_of(check_of(Stimulus, key))}")


def _place(draft: Draft, entry: Entry) -> None:
    """Names of sections and cameras, and where a thing stands."""
    table = entry.table
    for key, where in (("perimeters", "perimeter"), ("cameras", "camera")):
        names, complete = draft.names(where)
        for name in getattr(table, key) or ():
            if name in names or not complete or not names:
                continue
            near = close_match(name, names)
            hint = f"did you mean {show_value(near)}? " if near else ""
            allowed = f"{hint}a name from [[{where}]]: {name_list(names)}"
            draft.refuse(f"{entry.where} {key}", name, allowed, f"{key} = [{show_value(near or names[0])}]")
    row = KINDS.get(table.kind)
    if row is not None and getattr(row, "needs_place", False) and "at" not in entry.given:
        allowed = f"a {table.kind} stands somewhere, and only cameras that see it count: the point where it stands"
        draft.refuse(f"{entry.where} at", Problem.MISSING, allowed, "at = { points_m = [[12.0, -1.0]], height_m = 3.0 }")
    if table.family == "body" and "at" in _given(entry, ("at",)):
        way = table.way or default_of(table.kind, "way")
        if way is not None and way != "along":
            _refuse_key(draft, entry, "at", 'only with way = "along" (the line of a road or path), or a burst; leave it out')
        elif len(table.at["points_m"]) < 2:
            allowed = "the line of a road or path: at least two points"
            draft.refuse(
                f"{entry.where} at points_m",
                list(table.at["points_m"]),
                allowed,
                "at = { points_m = [[0.0, -5.0], [48.0, -5.0]] }",
            )
        elif "offset_m" in _given(entry, ("offset_m",)):
            _refuse_key(draft, entry, "offset_m", "either offset_m from the fence, or the line of the road in at; leave one out")
    law = table.rate_follows or default_of(table.kind, "rate_follows")
    if (
        law == "sun"
        and entry.has("rate_follows", "kind")
        and draft.single["weather_file"] is None
        and "weather_file" not in draft.meant
    ):
        key = "rate_follows" if table.rate_follows else "kind"
        allowed = "only with [weather_file]: tables [[weather]] do not say how much the sun shines"
        draft.refuse(f"{entry.where} {key}", getattr(table, key), allowed)


def _numbers(draft: Draft, entry: Entry) -> None:
    """A kind without numbers of its own needs them all; so does a kind whose way or silhouette was changed."""
    missing = [key for key in missing_keys(entry.table) if key not in entry.refused and key not in entry.given]
    if not missing or not entry.has("way", "silhouette"):
        return
    kind = entry.table.kind
    named = ", ".join(missing)
    if kind in FAMILIES:
        later = "; with the way come through (cross), base_m (over) or offset_m (along)" if "way" in missing else ""
        allowed = f"a kind that brings no number needs all of them: {named} left out{later}"
    else:
        allowed = f"this kind brings none for {named}, which the other keys ask for"
    lines = ", ".join(f"{key} = {example_of(check_of(Stimulus, key))}" for key in missing)
    draft.refuse(f"{entry.where} kind", kind, allowed, lines, fault="lacks numbers")


def _soaks(draft: Draft, names: list[str]) -> None:
    complete = len(draft.repeated["stimulus"]) == draft.rows.get("stimulus") and all(
        entry.has("kind", "name") for entry in draft.repeated["stimulus"]
    )
    for entry in draft.repeated["soak"]:
        cause = entry.table.cause
        if cause is None or cause in names or not complete or not names:
            continue
        near = close_match(cause, names)
        hint = f"did you mean {show_value(near)}? " if near else ""
        allowed = f"{hint}the name of a [[stimulus]], what was counted: {name_list(names)}"
        draft.refuse(f"{entry.where} cause", cause, allowed, f"cause = {show_value(near or names[0])}")


def _without_stimuli(draft: Draft) -> None:
    """Ceilings, counts and what alarms mean to an operator need stimuli to count."""
    requirement, nuisance = draft.single["requirement"], draft.single["nuisance"]
    for key in _given(requirement, _CEILINGS) if requirement else ():
        allowed = f"a ceiling needs stimuli to count: at least one table [[stimulus]]; leave it out, or add {_A_STIMULUS}"
        draft.refuse(f"{requirement.where} {key}", getattr(requirement.table, key), allowed)
    if nuisance and nuisance.given:
        allowed = f"only with stimuli to count, tables [[stimulus]]; leave it out, or add {_A_STIMULUS}"
        draft.refuse(nuisance.where, sorted(nuisance.given), allowed, fault="has keys that do nothing")
    for entry in draft.repeated["soak"]:
        if entry.table.cause is not None:
            allowed = f"the name of a [[stimulus]], and there is none; add {_A_STIMULUS}"
            draft.refuse(f"{entry.where} cause", entry.table.cause, allowed)
