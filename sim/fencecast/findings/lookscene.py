"""The words for what is in the way of a look, for a person beside the picture, and for what other cameras have of the person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fencecast.findings.looktext import distance_text
from fencecast.findings.words import listed, number_word, pd_text
from fencecast.onelook.hiding import CLOSED

Things = Sequence[Mapping[str, Any]]

_WHOLLY = 0.995  # from here on all of the person is hidden
# Cameras that miss the person are listed by how little they miss; the rest are counted.
_MOST_MISSES = 3
_SIDES = {"left": "to the left of", "right": "to the right of", "below": "below", "above": "above"}


def outside_text(outside: Things, whose: str = "the picture") -> str:
    """'4.1 degrees below the picture', with two sides 'and 12.3 degrees to the right of it'; '' for a person in the picture."""
    parts = []
    for k, each in enumerate(outside):
        where = f"{each['degrees']:.1f} degrees {_SIDES[each['side']]} {whose if k == 0 else 'it'}"
        parts.append(("behind the camera, " if each["behind"] and k == 0 else "") + where)
    return " and ".join(parts)


def solid_names(hidden_by: Things) -> list[str]:
    """Names of what cannot be seen through."""
    return [str(each["name"]) for each in hidden_by if each["passes"] < CLOSED]


def hidden_text(hidden_by: Things, share: float) -> str:
    """'hidden by workshop', '38 % hidden by workshop and office'; '' when nothing solid is in the way."""
    names = solid_names(hidden_by)
    if not names or share <= 0.0:
        return ""
    start = "" if share >= _WHOLLY else f"{max(100 * share, 1.0):.0f} % "
    return f"{start}hidden by {listed(names)}"


def through_text(hidden_by: Things) -> str:
    """'seen through east fence'; '' when no fence is in the way."""
    names = [str(each["name"]) for each in hidden_by if each["passes"] >= CLOSED]
    return f"seen through {listed(names)}" if names else ""


def way_sentences(look: Mapping[str, Any], units: str) -> list[str]:
    """Why nothing or less of the person is drawn, each reason a sentence; [] when nothing is in the way. look: of `explain`."""
    said, who = [], look.get("who", "person")
    outside, hidden_by = look.get("outside", ()), look.get("hidden_by", ())
    if outside:
        said.append(f"The {who} is not in the picture: {outside_text(outside, 'it')}. Nothing of the {who} is drawn.")
    share = float(look.get("hidden_share", 0.0))
    for each in hidden_by:
        where = f"{distance_text(round(each['distance_m'], 1), units)} from the camera"
        below = distance_text(round(each["below_m"], 1), units)
        if each["passes"] >= CLOSED:
            said.append(
                f"The {who} is seen through {each['name']}, {where}: all below {below} there is behind it, and its openings "
                f"pass {each['passes']:.2f} of the contrast."
            )
            continue
        what = {"wall": "A wall", "fence": "A closed fence"}.get(each["kind"], "An obstacle")
        high = distance_text(round(each["height_m"], 1), units)
        said.append(f"{what}, {each['name']}, {high} high and {where}, hides all below {below} where the {who} is.")
    if solid_names(hidden_by) and not outside:
        said.append(
            f"Nothing of the {who} is left to see."
            if share >= _WHOLLY
            else f"That is {max(100 * share, 1.0):.0f} % of the {who}'s height."
        )
    return said or ([] if look["in_frame"] else [f"Nothing of the {who} is drawn."])


def others_sentence(look: Mapping[str, Any]) -> str:
    """What the other cameras have of a person at the same place; '' for a site with one camera. look: of `explain`."""
    others = look.get("others", ())
    if not others:
        return ""
    x, y = look["place_m"]
    start = f"Other cameras at this place ({x:.1f}, {y:.1f} m): "
    seen = sorted((each for each in others if each["in_frame"]), key=lambda each: -each["p_counts"])
    hidden = [each for each in others if not each["in_frame"] and not each["outside"] and each["hidden_by"]]
    missed = sorted((each for each in others if each["outside"]), key=_missed_by)
    parts = []
    if seen:
        parts.append("a look counts with chance " + listed([f"{pd_text(each['p_counts'])} by {each['camera']}" for each in seen]))
    parts += [f"{each['camera']}: hidden by {listed(each['hidden_by'])}" for each in hidden]
    if missed and not seen:
        named = [f"{each['camera']} {outside_text(each['outside'], 'its picture')}" for each in missed[:_MOST_MISSES]]
        rest = len(missed) - len(named)
        parts.append("; ".join(named) + (f"; {number_word(rest)} more farther outside" if rest else ""))
    elif missed:
        parts.append(f"outside the picture of {listed([each['camera'] for each in missed])}")
    return start + "; ".join(parts) + "." if parts else ""


def _missed_by(each: Mapping[str, Any]) -> float:
    return max(side["degrees"] for side in each["outside"])


def scenery_text(kinds: Mapping[str, Sequence[str]], horizon: bool) -> str:
    """What the marks in a picture are: 'Hatched: workshop. Posts: east fence. Dashed: horizon.'; kinds: names by kind."""
    solid = [*kinds.get("obstacle", ()), *kinds.get("wall", ())]
    rows = [("Hatched", solid), ("Posts", kinds.get("fence", ())), ("Thin line, no barrier", kinds.get("line", ()))]
    said = [f"{head}: {', '.join(names)}." for head, names in rows if names]
    return " ".join([*said, *(["Dashed: horizon."] if horizon else [])])
