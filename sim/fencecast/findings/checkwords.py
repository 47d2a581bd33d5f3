"""What every check of the design review says: what was measured, why it matters, what to do. One table, in the checks' order.

In braces: `value` and `limit` of the finding, `places` (` (D 0–9 m)` or nothing), `percent`, `limit_percent`, and its facts.
"""

from __future__ import annotations

from fencecast.findings.sitecheckwords import SITE_WORDS, Words

# In the place of the remedy of "sky" for a camera that was measured as it hangs.
MEASURED_SKY = "it was measured and is simulated as it hangs; decide: keep it as hung, or return it to the drawing"
WORDS: dict[str, Words] = {
    # ------------------------------------------------------------------------------ is every metre watched?
    "no-rule": Words(
        "{value:.1f} m of fence without a rule{places}",
        "Nothing raises an alarm there, whatever cameras see.",
        "add a [[rule]] with this perimeter",
        "without a rule",
    ),
    "idle-camera": Words(
        "no rule takes its alarms",
        "A camera that no rule hears adds nothing.",
        "name it in the cameras of a rule, or leave it out",
    ),
    "misses-rule": Words(
        "{value:.1f} m where straight paths inside meet no rule's line{places}",
        "Who comes in there crosses no line, so no camera can raise an alarm.",
        "lengthen the line past the end of the fence, or give the rule points_m of its own",
        "beside the rule's line",
    ),
    "line-end": Words(
        "{percent} of ways in pass beside the line's end, on {metres:.1f} m{places}",
        "A slanting path goes round the end of the line without crossing it.",
        "lengthen the line, or move it nearer to the fence",
        "at a line's end",
    ),
    "sections-apart": Words(
        "{value:.1f} m between the ends of {first} and {second}, near x {x:.1f}, y {y:.1f}",
        "No crossing is simulated in a gap between sections: nobody watches it, and no number says so.",
        "join the ends, or draw what is there as a section of its own",
    ),
    "sees-no-fence": Words(
        "bearing {bearing:.0f} degrees, {depression:.0f} degrees down: nothing that a rule watches is in its picture",
        "The camera looks away from all fence that it is meant for; a bearing is often typed the other way round.",
        "turn it (aim_m names the point that it should look at)",
    ),
    "under-mast": Words(
        "{value:.1f} m of fence{places} with no waist in view; "
        "on {below:.1f} m here even a clear night leaves less than the requirement",
        "Ground under a camera is below its picture: whoever crosses there passes unseen.",
        "let another camera look back at the mast's foot{or_hear}{or_tilt}",
        "under masts",
    ),
    "hidden": Words(
        "{value:.1f} m of fence{places} behind it, from {cameras}",
        "A waist there is behind the obstacle for every camera that has the place in its frame.",
        "move or add a camera so that its line of sight passes the obstacle",
        "hidden",
    ),
    "corner-wedge": Words(
        "{value:.1f} m at a corner{places} in no camera's frame",
        "Two cameras that look away from a corner leave a wedge between their frames.",
        "turn one of them further round, or let a third look along the fence",
        "in corners",
    ),
    "not-in-view": Words(
        "{value:.1f} m of fence{places} in no camera's frame{behind_words}",
        "No camera that the rule hears looks at this stretch.",
        "turn a camera this way, or let another one look here{not_tilt}",
        "in no view",
    ),
    "feet-unseen": Words(
        "{value:.1f} m{places} with a waist but no feet in view; somebody flat on the ground is unseen on {lying:.1f} m",
        "Who crawls there is below the picture.",
        "tilt the camera down a little, or let another one have the ground there",
    ),
    "no-partner": Words(
        "{value:.1f} m under its mast{places} that other cameras have in view but too small",
        "Only cameras farther off have this stretch, and none of them makes out a walker well enough.",
        "a nearer partner, or a longer lens on the one that looks back",
    ),
    "not-heard": Words(
        "{value:.1f} m{places} that it resolves, and no camera of rule {rule} does",
        "The camera has the place in its picture, but the rule does not take its alarms.",
        "add it to the cameras of rule {rule}: this costs nothing",
    ),
    "gate": Words(
        "{value:.0f} is the least number of cameras that resolve somebody in it{places}",
        "Gates are where people and vehicles hide each other; common practice is two views.",
        "let a second camera look across the gate",
    ),
    "one-camera": Words(
        "{value:.0f} m of {held:.0f} m rest on one camera alone",
        "When that camera fails or its window is dirty, nothing else watches there.",
        "compare with: fencecast run --lose-each camera",
    ),
    # ------------------------------------------------------------------------------ is the picture good enough?
    "resolution": Words(
        "ceiling {least:.2f} at {at:.0f} m, {metres:.1f} m below{places}",
        "Bodies are too small in the picture there, whatever the weather: no threshold mends that.",
        "a longer lens, a nearer camera, or one more on this stretch",
        "out of reach",
    ),
    "gait-far": Words(
        "{value:.1f} m{more_than} below the requirement for this gait{places}, lowest {least:.2f} at {lowest}",
        "People who go low or fast are seen smaller or shorter than walkers; {share_percent} of the intruders do.",
        "shorter stretches for each camera, or a longer lens",
    ),
    "sky": Words(
        "{percent} of its rows are above the horizon",
        "Sky shows no intruder, and warm or cold clouds and the sun disturb the picture.",
        "tilt it down until the upper edge is near the horizon",
    ),
    "sun": Words(
        "the sun stands in its picture for {value:.0f} hours a year{while_armed}",
        "The sun blinds a thermal camera for minutes and can leave a lasting mark.",
        "tilt it down, or turn it away from where the sun rises and sets",
    ),
    "over-horizon": Words(
        "the lower edge of its picture is {value:.2f} degrees above the horizon",
        "It sees no ground at all.",
        "depression_deg is positive downwards: look at its sign",
    ),
    "head-cut": Words(
        "heads leave its picture beyond {leaves:.1f} m: {value:.1f} m{places} with nobody's head in view",
        "A body without its upper part is smaller and is taken for something else.",
        "tilt it up a little, or mount it lower",
    ),
    "edge-of-frame": Words(
        "{value:.1f} m{places} only at the edge of pictures",
        "At the edge bodies are cut and blurred, and the slightest turn loses them.",
        "turn a camera so that the fence runs through the middle of its picture",
    ),
    "noise-alarms": Words(
        "{value:.3g} alarms a day from noise of sensor {sensor} alone",
        "The threshold lies so low that noise passes it; animals and weather come on top.",
        "raise threshold_sigma, min_pixels or m of confirm",
    ),
    "stated-field": Words(
        "{computed:.1f} degrees by focal length and sensor, {stated:.1f} on the data sheet{other_fits}",
        "One of the numbers is wrong: focal length, pitch, columns or projection.",
        "ask the maker which; correct the file",
    ),
    # ------------------------------------------------------------------------------ does the rule fire in time?
    "dwell": Words(
        "{value:.0f} looks at a runner of {speed:.1f} m/s on {metres:.1f} m{places}; {m} are needed",
        "The fastest people are through before enough looks have been taken.",
        "more looks_per_s, fewer looks in confirm, or a camera with a wider view there",
    ),
    "area-thin": Words(
        "{width:.1f} m wide: a runner of {speed:.1f} m/s is inside for {value:.2f} s",
        "An area that is left before enough looks were taken raises no alarm.",
        "make the area wider, or use a line",
    ),
    "dwell-too-long": Words(
        "dwell {value:.2f} s, and a runner is inside for {stays:.2f} s",
        "Who runs across never stays long enough.",
        "shorten dwell_s, or make the area wider",
    ),
    "inside-reversed": Words(
        'inside = "{inside}" points {away}',
        "Everything is mirrored: the rule's line lies outside, and paths run the wrong way.",
        "swap left and right, or reverse its points",
    ),
    "rule-outside": Words(
        "the line lies {outside:.1f} m outside the fence",
        "Passers-by raise alarms, and the ground may not be yours.",
        "a positive offset_m lies inside",
    ),
    "area-outside": Words(
        "{value:.0f} m2 of the area lie outside your ground",
        "Passers-by raise alarms there.",
        "draw it inside the fence",
    ),
    "rule-deep": Words(
        "{value:.1f} m inside the fence: {seconds:.1f} s of walking before an alarm can be",
        "What lies before the line is lost time for the response.",
        "move the line nearer to the fence",
    ),
}
WORDS |= SITE_WORDS
