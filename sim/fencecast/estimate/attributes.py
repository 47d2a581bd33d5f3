"""What the attributes of a results file mean, each in a line: of a run, a comparison and a study."""

from __future__ import annotations

# Of every results file.
SHARED = {
    "title": "title of the site file or study file",
    "version": "version of fencecast that computed the results",
    "code_sha256": "SHA-256 of the sources and tables of fencecast that numbers come from",
    "libraries": "versions of Python and of the libraries that numbers come through, as JSON; of a study's pieces, several where "
    "they differ",
    "model": "the model's main parts with their sources, a line each",
    "interval_method": "how crossings are drawn, and how intervals are made of them",
    "seed": "seed of the crossings",
    "confidence": "confidence of every interval, a fraction",
    "requirement_pd": "the Pd that every segment needs in every weather class",
    "units": "si, or us when feet and Fahrenheit are shown too",
    "crossings_total": "crossings simulated for pd, all together",
    "looks_total": "looks (one frame, one camera, one person) that were drawn",
    "site_sha256": "SHA-256 of the site file (of a study: of the study file)",
    "weather_source": "name of the hourly record; absent for weather that the site file describes",
    "period_years": "years that the hourly record spans",
    "caution": "what is said wherever the results are shown",
    "not_modelled": "what the model leaves out, a line each",
}
# Of a run and of a comparison.
SIMULATED = {
    "schema": "format of the file",
    "processor": "model, architecture and compiler's name of the processor",
    "site_toml": "the site file as text, of a comparison that of its base",
    "created": "when the results were made, UTC",
    "command": "the command line as it was typed; empty for a call from Python",
    "precision": "half width of an interval that was asked for, in every segment and weather class",
    "threads": "threads that were used; results do not depend on it",
    "seconds": "time of the simulation, without compilation and pictures [s]",
    "weather_classes": "weather classes that the site has, run or not",
    "encounter_correlation": "how alike two cameras judge one intruder, a judgement",
    "weather_sha256": "SHA-256 of the bytes of the hourly record",
}
# Of a run alone.
RUN = {
    "stress": "condition on the hours of the record; empty when all armed hours count",
    "stress_hours": "armed hours a year that meet the condition [h]",
    "stress_of_hours": "armed hours a year that it was asked of [h]",
    "weather_notes": "what was not taken from the record as it was written, a line each",
    "installations": "yards as built that were run",
    "installations_alike": "1 when nothing differs between installations, else 0",
    "losses_by": "what is lost one at a time: camera, or what cameras depend on",
    "without": "marks of cameras that were taken out",
    "design_review": "line of the design review (fencecast check)",
    "design_review_stops": "its open stops in short",
    "findings": "all of its findings as JSON",
    "calibration": "what walks said and what they were, as JSON; only of a site with [calibration]",
    "remedy": "the change that was found to mend the site, as a sentence",
    "remedy_worst": "weather class that the change was sought for",
    "remedy_steps": "its steps as JSON",
    "nuisance_asked": "1 when nuisance alarms were counted ([[stimulus]]); absent or 0: sensor noise alone",
    "nuisance_attempts_per_year": "attempts a year that true_share is for; missing when none were given",
    "nuisance_ceiling": "alarms a night that the site file allows, mean over the year; missing when it names none",
    "nuisance_bad_night_ceiling": "alarms in 19 nights of 20 that the site file allows; missing when it names none",
    "nuisance_met": "met, not met or undecided: upper end at most the ceilings, lower end above one; empty without a ceiling",
    "nuisance_bad_night_low": "bad_night_year when all rates are at the lower end of the mean's interval",
    "nuisance_bad_night_high": "bad_night_year when all rates are at the upper end of the mean's interval",
    "nuisance_uncertainty": "factor either way, at 95 %, of rates that have no distribution of their own",
    "nuisance_nights": "what nights of the year are: weather classes (each as a whole night), or recorded nights, hour by hour",
    "nuisance_soaks": "what was counted on site, as JSON: a cause's rate as assumed, as counted and after both, a night",
    "nuisance_notes": "what of a stimulus could not be used, a line each",
    "armed_h_per_night": "armed hours of a night",
    "nights_per_year": "nights of a year with armed hours",
    "remedy_found": "all that was found of it, as JSON; null when one was asked for and nothing helped",
}
# Of a comparison alone.
COMPARISON = {
    "compare_schema": "format of the file of a comparison",
    "margin": "difference of Pd within which two designs count as equivalent",
    "nuisance_margin": "share of the base's alarms a night within which designs count as equivalent, where asked",
    "pairing_gain": "how many times narrower the differences are than without shared crossings, the median",
}
# Of a trade-off alone.
TRADEOFF = {
    "tradeoff_schema": "format of the file of a trade-off",
    "fence_m": "metres of fence that a rule watches [m]",
    "left_out": "values that the ladder left out because the site cannot have them, a line each",
}
# Of a study alone.
STUDY = {
    "study_schema": "format of the file of a study",
    "study_toml": "the study file as text",
    "file_kind": "what site_sha256 is of: study file",
    "code": "version and the first 16 digits of code_sha256, by which pieces are kept",
    "equal_by": "what designs are equal in: cameras or cost",
    "per_100_m": "1 when an allowance is per 100 m of fence, else 0 for a yard",
    "crossings_per_cell": "crossings of every segment and weather class of a layout or a setting",
    "invented_yards": "yards made from the seed",
    "yards_settings": "what they were drawn from, as JSON",
    "record_sha256": "SHA-256 of the bytes of the hourly record",
    "base": "design that differences are taken from",
    "base_chosen": "1 when fencecast chose the base, 0 when the study file names it",
}
ATTRIBUTES = SHARED | SIMULATED | RUN | COMPARISON | TRADEOFF | STUDY
