"""Tables and pages made from the schema and the code, as Markdown; no Sphinx here, so that tests read what the pages show."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Mapping

from defaultsources import OTHER_MARKS, SOURCES
from kindtables import body_kinds, burst_kinds, kind_sources, shared_numbers
from publicpages import API, api, commands, table
from references import MARKS, PACKAGE

from fencecast.cautions import CAUTION, NOT_MODELLED, NUISANCE_NOT_MODELLED
from fencecast.decide.study.keypage import study_page
from fencecast.decide.tradeoff.meanings import TRADEOFF_MEANINGS
from fencecast.estimate.attributes import COMPARISON, RUN, SHARED, SIMULATED, STUDY, TRADEOFF
from fencecast.estimate.dataset import CAUSES, MEANINGS, NOT_ACCEPTED
from fencecast.estimate.options import DEFAULT_PRECISION
from fencecast.estimate.simulate import DEFAULT_MAX_CROSSINGS, FIRST_POINTS, REPLICATES
from fencecast.findings.sheetwords import CAUSE_MEANINGS, verdict_meanings
from fencecast.physics.body import BODY_SIZES, GAIT_SHARES, GAIT_SPEEDS, GAITS
from fencecast.physics.surfaces import GROUND_EMISSIVITY
from fencecast.sampling.variables import (
    CAMERA_VARIABLES,
    DECISION_VARIABLES,
    ENCOUNTER_VARIABLES,
    FOOT_POINT_VARIABLES,
    SITE_VARIABLES,
)
from fencecast.site.keypage import SECTIONS, TABLES, _default, site_page
from fencecast.site.meanings import MEANINGS as KEY_MEANINGS
from fencecast.site.pagetexts import GLOSSARY

# Variables of the results by what they tell, in the order of the page: (heading, whether a name belongs there).
VARIABLE_GROUPS: tuple[tuple[str, str], ...] = (
    ("Where and how sure", r"(pd|pd_low|pd_high|verdict|crossings|pd_fresh.*|noise_alarms_per_day)$"),
    ("After walks (`[calibration]`)", r"(pd_parameter_.*|pd_place_.*|pd_sampling_half|pd_fence.*)$"),
    ("Why", r"(pd_camera|miss_share|alarm_.*|lift.*|diagnosed.*)$"),
    ("Year and worst class", r"(pd_year.*|pd_worst.*|worst_weather|weather_hours)$"),
    ("Distance", r"pd_distance.*"),
    ("What the answer depends on", r"(dpd_.*|sensitivity_.*)$"),
    ("Yards as built (`--installations`)", r".*installation.*"),
    ("Hours of a record", r"(pd_state.*|state.*|hour_.*|armed_hours|known_armed_hours|weak_hours.*|month|clock_hour)$"),
    ("Fog, drop by drop", r"(pd_fog.*|fog_.*|drop_share|optical_range)$"),
    (
        "Nuisance alarms (`[[stimulus]]`)",
        r"(stimulus.*|encounters_night|p_nuisance.*|nuisance_.*|bad_night.*|night_pmf|true_share|operator_wait_s)$",
    ),
    ("Coordinates and the picture of the ground", r".*"),
)


def page(text: str) -> str:
    """A page of the package: without its note to developers, links to its neighbours kept."""
    return re.sub(r"^<!--.*?-->\n", "", text, flags=re.DOTALL)


def defaults() -> str:
    """Every default of the site file with where it comes from."""
    parts = []
    for _, tables in SECTIONS:
        for name in tables:
            rows = [
                (f"`{key}`", shown, marked(SOURCES[name][key]))
                for key, shown in default_keys(name)
                if key in SOURCES.get(name, {})
            ]
            if rows:
                parts.append(f"### `{name}`\n\n" + table("key | default | source", rows))
    return "\n".join(parts)


def default_keys(name: str) -> list[tuple[str, str]]:
    """Keys of a table that have a default, with the default as it is shown."""
    found = []
    for key, info in TABLES[name].model_fields.items():
        meaning = KEY_MEANINGS[name][key]
        instead = meaning[1] if isinstance(meaning, tuple) else ""
        if not info.is_required():
            found.append((key, instead or default_text(info.default)))
    return found


def default_text(value: object) -> str:
    """A default as it is typed."""
    if isinstance(value, Mapping) and any(not isinstance(part, (int, float)) for part in value.values()):
        return ", ".join(f"{name} {_default(part)}" for name, part in value.items())
    return _default(value)


def marked(source: str) -> str:
    """A source with its mark in italics."""
    mark = re.split(r"[:;]", source)[0]
    return f"*{mark}*{source[len(mark) :]}"


def marks() -> str:
    """What each mark of a source means."""
    return table("mark | what it says", [(f"*{mark}*", says) for mark, says in (MARKS | OTHER_MARKS).items()])


def constants() -> str:
    """Named numbers of the formulas with what the code says beside them."""
    rows = []
    for path in sorted((PACKAGE / "physics").glob("*.py")):
        lines = path.read_text(encoding="utf-8").splitlines()
        for node in ast.parse("\n".join(lines)).body:
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id[0] != "_":
                name, value = node.targets[0].id, node.value
                if isinstance(value, ast.Constant) and isinstance(value.value, float):
                    _, _, said = lines[node.end_lineno - 1].partition("  # ")
                    rows.append((f"`{path.stem}.{name}`", f"{value.value:g}", said))
    return table("constant | value | beside it in the code", rows)


def bodies() -> str:
    """Size, speed and share of each gait."""

    def part(statures: float, metres: float) -> str:
        return f"{metres:g} m" if metres else f"{statures:g} H"

    rows = []
    for k, gait in enumerate(GAITS):
        tall, tall_m, broad, deep, deep_m = BODY_SIZES[k]
        mean, sd, least = GAIT_SPEEDS[k]
        rows.append(
            (
                gait,
                f"{mean:g} ± {sd:g}",
                f"{least:g}",
                part(tall, tall_m),
                part(broad, 0.0),
                part(deep, deep_m),
                f"{GAIT_SHARES[k]:g}",
            )
        )
    return table("gait | speed m/s (mean ± sd) | cut below | height | breadth | depth | share", rows)


def emissivities() -> str:
    """Emissivity of the grounds."""
    return table("ground | emissivity, 8 to 14 um", [(ground, f"{value:g}") for ground, value in GROUND_EMISSIVITY.items()])


def drawn() -> str:
    """The drawn variables of a crossing and an encounter: dimensions in their order, and what is hashed."""
    dimensions = ", ".join(f"{k + 1} `{name}`" for k, name in enumerate(SITE_VARIABLES))
    cameras, decision = (", ".join(f"`{name}`" for name in names) for names in (CAMERA_VARIABLES, DECISION_VARIABLES))
    further = ", ".join(f"{k + 1} `{name}`" for k, name in enumerate(ENCOUNTER_VARIABLES) if name not in SITE_VARIABLES)
    foot = ", ".join(f"`{name}`" for name in FOOT_POINT_VARIABLES)
    rows = [
        ("dimensions of the Sobol sequence, in their order", dimensions),
        ("further dimensions of an encounter with a body that is no intruder (whose size is `stature`, its coat `clo`)", further),
        ("hashed, by the camera's mark", f"{cameras}; of an encounter also {foot}"),
        ("hashed; one draw for each installation with `--installations`", decision),
    ]
    return table("drawn as | variables", rows)


def stopping() -> str:
    """The rounds of every estimate, in the numbers of the code."""
    first, most = FIRST_POINTS * REPLICATES, f"{DEFAULT_MAX_CROSSINGS:,}"
    return (
        f"A cell begins with {FIRST_POINTS} points in each of {REPLICATES} scramblings, {first} crossings, and doubles them "
        f"until its half width is at most `--precision` ({DEFAULT_PRECISION:g}) or `--max-crossings` ({most}) is "
        "reached; which cells did not get there is printed.\n"
    )


def results_variables() -> str:
    """Every variable of results.nc, in groups."""
    left, parts = dict(MEANINGS), []
    for heading, pattern in VARIABLE_GROUPS:
        names = [name for name in left if re.match(pattern, name)]
        rows = [(f"`{name}`", *left.pop(name)) for name in names]
        parts.append(f"### {heading}\n\n" + table("variable | unit | meaning", rows))
    return "\n".join(parts)


def tradeoff_variables() -> str:
    """The variables of tradeoff.nc that a run does not have."""
    rows = [(f"`{name}`", *said) for name, said in TRADEOFF_MEANINGS.items() if name not in MEANINGS]
    return table("variable | unit | meaning", rows)


def attributes() -> str:
    """Every attribute of a results file, by what the file is of."""
    groups = (
        ("Of every results file", SHARED),
        ("Of a run, a comparison and a trade-off", SIMULATED),
        ("Of a run alone", RUN),
        ("Of a comparison alone", COMPARISON),
        ("Of a trade-off alone", TRADEOFF),
        ("Of a study alone", STUDY),
    )
    parts = ((heading, [(f"`{name}`", says) for name, says in group.items()]) for heading, group in groups)
    return "\n".join(f"### {heading}\n\n" + table("attribute | meaning", rows) for heading, rows in parts)


def causes() -> str:
    """The causes of a missed crossing, the last one of sites with a size gate."""
    return table(
        "cause | what it means, and what usually helps", [(cause, CAUSE_MEANINGS[cause]) for cause in (*CAUSES, NOT_ACCEPTED)]
    )


def glossary() -> str:
    """Words of the pages, verdicts and causes, in the order of the alphabet."""
    words = dict(re.findall(r"^\| ([^|]+) \| (.+) \|$", GLOSSARY.split("| --- | --- |\n")[1], re.MULTILINE))
    words |= {f"cause: {cause}": CAUSE_MEANINGS[cause] for cause in (*CAUSES, NOT_ACCEPTED)}
    words |= {f"verdict: {word}": means for word, means in verdict_meanings(0.90).items()}
    words |= EXTRA_WORDS
    entries = (f"{word}\n: {means}\n" for word, means in sorted(words.items(), key=lambda entry: entry[0].lower()))
    return "\n".join(entries)


EXTRA_WORDS = {
    "armed": "a rule is armed at a look when a confirmed look there raises its alarm",
    "budget": "one look as steps that can be checked by hand: `fencecast explain`",
    "clutter": "structure of the background that the analytics' background model leaves, in kelvin",
    "confirmation": "m looks that pass of the last n",
    "dominated": "a setting that another beats on one side (metres, alarms) beyond the error, and equals (the error leaves "
    "open no loss beyond a margin) or beats on the other: `fencecast tradeoff`",
    "encounter correlation": "how alike two cameras judge one intruder, r of `[decision]`",
    "fresh crossings": "crossings that were not used to choose what is asked",
    "joint state": "values of one hour that belong together: air, ground, sky, window",
    "lift": "the crossings of a place asked again with one thing taken away: the fog, the clutter, an obstacle",
    "N50, `cycles_50`": "resolved cycles at which half of all encounters are classified",
    "NETD": "noise-equivalent temperature difference of a camera with its lens",
    "scrambling": "one of eight independent randomisations of the same sequence of crossings; their spread gives the interval",
    "seen share": "how much of the whole body's contrast passes the threshold in the frame",
}


def nuisance_not_modelled() -> str:
    """The sentences that stand in the place of one where nuisance alarms are counted."""
    return "".join(f"- {sentence}\n" for sentence in NUISANCE_NOT_MODELLED)


def not_modelled() -> str:
    """What the model leaves out, as results say it."""
    return "".join(f"- {sentence}\n" for sentence in NOT_MODELLED)


def card() -> str:
    """The model card, its headings one step down."""
    text = (PACKAGE / "MODEL_CARD.md").read_text(encoding="utf-8")
    return text.partition("\n")[2].strip() + "\n"


MADE: dict[str, Callable[[], str]] = {
    "site-file": lambda: page(site_page()),
    "study-file": lambda: page(study_page()),
    "model-card": card,
    "defaults": defaults,
    "marks": marks,
    "constants": constants,
    "bodies": bodies,
    "emissivities": emissivities,
    "body-kinds": body_kinds,
    "burst-kinds": burst_kinds,
    "kind-sources": kind_sources,
    "shared-numbers": shared_numbers,
    "drawn": drawn,
    "stopping": stopping,
    "results-variables": results_variables,
    "tradeoff-variables": tradeoff_variables,
    "attributes": attributes,
    "causes": causes,
    "glossary": glossary,
    "caution": lambda: f"**{CAUTION}**\n",
    "not-modelled": not_modelled,
    "nuisance-not-modelled": nuisance_not_modelled,
    "commands": commands,
    **{f"api-{name}": (lambda name=name: api(name)) for name in API},
}
