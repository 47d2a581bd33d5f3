"""What the later groups of checks say: obstacles, failures, mounting, weather, claim, land, the file; as in `checkwords`."""

from __future__ import annotations

from typing import NamedTuple


class Words(NamedTuple):
    """Three sentences of a check, and short words for what is counted, for titles of pictures; "" when it is no stretch."""

    measured: str
    why: str
    fix: str
    metres: str = ""


SITE_WORDS: dict[str, Words] = {
    # ------------------------------------------------------------------------------ what stands in the way, or helps?
    "roof-route": Words(
        "{height:.1f} m high, {value:.2f} m from {section} ({barrier:.1f} m high)",
        "A roof at the fence is a way over it that no barrier slows.",
        "move it, or raise the barrier there",
    ),
    "climbing-aid": Words(
        "{height:.1f} m high, {value:.2f} m from {section} ({barrier:.1f} m high)",
        "It is a step towards the top of the barrier.",
        "keep it farther from the fence",
    ),
    "clear-zone": Words(
        "the nearest obstacle, {nearest}, stands {value:.1f} m from the fence ({count} in all)",
        "Common practice keeps free ground beside a fence, so that nobody waits hidden there.",
        "keep the strip free, or accept it with a reason",
    ),
    "own-wall": Words(
        "{percent} of its width meets {obstacle} within 3 m",
        "A wall right before the lens fills the picture, and its warmth washes it out.",
        "use an arm, or turn the camera away from the wall",
    ),
    "moveable": Words(
        "{value:.1f} m{places} out of everybody's view when it is {highest:.1f} m high",
        "What is stacked or parked there hides the fence for as long as it stands.",
        "mark where nothing may be stacked, or add a view from the other side",
    ),
    # ------------------------------------------------------------------------------ what if one thing fails?
    "dependence-loss": Words(
        "{percent} of what is resolved ({metres:.0f} of {held:.0f} m) is lost with it: {cameras}",
        "One broken mast, switch or supply takes all of it away at once.",
        "spread cameras that watch each other's fence over different things",
    ),
    "same-dependence": Words(
        "{value:.1f} m{places} have two or more cameras ({cameras}), all of which depend on it",
        "The second camera is no reserve: both go together.",
        "connect one of them elsewhere",
    ),
    "camera-outside": Words(
        "stands {value:.1f} m outside your ground",
        "It can be reached, turned or taken without crossing the fence.",
        "move it inside",
    ),
    # ------------------------------------------------------------------------------ will it be built as drawn?
    "tolerance-zero": Words(
        "all errors of [tolerance] are 0",
        "No camera is mounted exactly as drawn; results are better than what will be built.",
        "bearing_deg = 0.5, depression_deg = 0.5, height_m = 0.05 is careful work",
    ),
    "aim-opens-gap": Words(
        "{value:.1f} m{places} fall below the requirement when it points {degrees:.1f} degrees {way}",
        "Such an error of aim is common after mounting and after storms.",
        "let views overlap more, or fix the aim by a measured point",
    ),
    "metres-per-degree": Words(
        "one degree higher moves the far end of {mark} from {far:.0f} m by {value:.1f} m, one lower by {less:.1f} m",
        "At such flat angles the aim decides where the picture ends ({count} cameras).",
        "aim by a measured point on the ground, not by eye",
    ),
    "low-mount": Words(
        "{value:.1f} m high",
        "Within reach, and people stand behind each other in its picture.",
        "mount it at 3 m or higher",
    ),
    "sway": Words(
        "{degrees:.2f} degrees of sway are {value:.1f} pixels",
        "A picture that moves by more than a pixel looks like movement everywhere.",
        "a stiffer mast, or a shorter lens",
    ),
    # ------------------------------------------------------------------------------ is the weather right?
    "no-fog": Words(
        "no class with fog",
        "Fog is what most often takes a thermal camera's range away.",
        "add a class with fog and its hours a year",
    ),
    "no-rain": Words(
        "no class with rain", "Rain wets clothes, ground and window at once.", "add a class with rain and its hours a year"
    ),
    "no-crossover": Words(
        "warmest ground {value:+.1f} K from the air",
        "After warm days the ground is as warm as people's clothes, and contrast goes through zero.",
        "add a warm class with ground_minus_air_k of 2 to 5 K or more",
    ),
    "rain-but-dry": Words(
        "{value:.1f} mm/h of rain with wetness {wetness:.1f} and a {window} window",
        "Rain without wet clothes and drops on the window is too good.",
        "wetness 0.6 to 1.0 and front_window with drops",
    ),
    "fog-one-value": Words(
        "one visibility, {visibility:.0f} m, for all its hours",
        "Fog varies by a factor of several within an hour; the thick part decides.",
        'visibility_m = {{ dist = "lognormal", median = {visibility:.0f}, sigma_ln = 0.5 }}',
    ),
    "odd-class": Words(
        "{what} {value:.3g}", "These do not go together in real weather.", "look at the numbers of this class again"
    ),
    "record-gaps": Words(
        "{percent} of the armed hours are unknown ({hours:.0f} h), the longest run {longest:.0f} h",
        "Gaps in a record are not random: sensors fail in bad weather.",
        "another station or year, or fill the gaps from a neighbour",
    ),
    "record-no-fog": Words(
        "{value:.1f} armed hours a year below 1,000 m of visibility",
        "Either the place has no fog, or the record does not say so.",
        "ask whether the station reports visibility; add a record that does",
    ),
    "record-short": Words(
        "{value:.1f} years long",
        "One year is not the next: fog hours vary by half and more.",
        "use three years or more where they exist",
    ),
    "record-far": Words(
        "recorded {value:.0f} km from the site, at {latitude:.2f}, {longitude:.2f}{hint_words}",
        "Fog and ground temperature are local.",
        "use a nearer station, or correct latitude and longitude",
    ),
    # ------------------------------------------------------------------------------ can the claim be shown?
    "proof-size": Words(
        "{value:.0f} walks without a miss for each of {sections} sections and {gaits} gaits: {hours:.0f} h",
        "So many show Pd {pd:g} at {confidence_percent} confidence; a requirement that nobody walks is never shown.",
        "require less, or agree on fewer walks before the contract",
    ),
    "requirement-default": Words(
        "pd is not typed: {value:.2f} is taken", "The requirement decides every verdict.", "type [requirement] pd"
    ),
    "intruders": Words(
        "{who_words}", "The hard cases are left out, and the result is about easy ones.", "see the defaults of [intruder]"
    ),
    "independent": Words(
        "encounter_correlation {value:.2f}",
        "Two cameras that look at one person do not judge independently: what one misses the other often does.",
        "leave it at 0.5 until walks say otherwise",
    ),
    "long-segments": Words(
        "segments of {value:.1f} m", "Short weak places vanish in the mean of a long piece.", "segment_length_m of 1 to 2 m"
    ),
    # ------------------------------------------------------------------------------ whose ground, whose eyes?
    "overspill": Words(
        "{mark} has people on {value:.0f} m2 outside the yard in view ({share_percent} of its view, {count} cameras)",
        "Ground that is not yours may not be watched everywhere; what moves there disturbs.",
        "tilt down, mask, or ask whose ground it is",
    ),
    "land-in-view": Words(
        "{value:.0f} m2 of {ground} ground in view of {cameras}",
        "{land_why}",
        "turn or mask the cameras, or accept it with a reason",
    ),
    # ------------------------------------------------------------------------------ what will raise alarms and is no intruder?
    "passers-near-line": Words(
        "{value:.1f} m{places} where {who} come within {distance:.2f} m of the rule's line, and {camera} sees a foot point "
        "{error:.2f} m wrong",
        "A foot that is seen beyond the line has crossed it: people who only pass raise alarms there.",
        "move the line further in (offset_m), or keep people farther off",
        "near passers",
    ),
    "size-gate-low": Words(
        "size_gate begins at {value:.2f} of a person, and seen end on {who_words}",
        "What keeps small animals out keeps people near the ground out too; {share_percent} of the intruders go so.",
        "a smaller low end; fencecast tradeoff --least-size shows metres beside alarms",
    ),
    "never-on-ground": Words(
        "its lowest point is at {value:.1f} m, and no camera stands higher than {limit:.1f} m",
        "It never seems to stand on the ground, so it crosses no line, and its alarms are none whatever its rate is.",
        "look at base_m; leave it out, or say how low it comes",
    ),
    "source-unseen": Words(
        "no camera that counts for it has it in its picture, unhidden",
        "It raises no alarm from there, and the count of alarms is without it.",
        "look at the points and height_m of at, and at cameras; leave it out when nothing sees it",
    ),
    # ------------------------------------------------------------------------------ is the file what you meant?
    "check-this": Words(
        "{value:.0f} values still marked `check this`",
        "They were taken by default and nobody has looked at them.",
        "look at each, then take the mark away",
    ),
    "feet-for-metres": Words(
        "{feet_words}",
        "A number in feet that is read as metres is 3.28 times too large.",
        'type feet with their unit, such as "14 ft"',
    ),
    "outside-yard": Words(
        "lies {value:.1f} m outside the yard", "A sign, a digit or a unit is often wrong.", "look at its points"
    ),
    "place-contradicts": Words(
        "{zone} is {value:.1f} h from the sun at longitude {longitude:g}",
        "Longitude, its sign or the time zone is wrong, so hours are armed at the wrong time.",
        "look at the sign of longitude, and whether it is swapped with latitude",
    ),
}
LAND_WHY = {
    "private": "Watching private ground needs a reason in most places.",
    "public": "Watching public ground needs a reason in most places.",
    "rail": "Trains cross the picture and raise alarms.",
    "water": "Waves and reflections raise alarms.",
    "plants": "Plants that move in wind raise alarms.",
    "loose": "Loose things that move in wind raise alarms.",
    "heat": "Warm exhaust and machines raise alarms.",
}
