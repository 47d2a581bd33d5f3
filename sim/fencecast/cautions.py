"""What is said wherever results are shown: the caution, and what the model leaves out. Each stands here and nowhere else."""

CAUTION = "Planning aid: a prediction, not a proof and not life safety. Only tests on the finished site are proof."

_NUISANCE_LEFT_OUT = (
    "Nuisance alarms (animals, plants, weather), the transmission of alarms, and their assessment and response are left out."
)
_N50_LEFT_OPEN = "A resolution law for human observers stands in for analytics until walk tests calibrate it."
_CORRELATION_LEFT_OPEN = "How alike two cameras judge one intruder (encounter correlation) is a judgement."
# One sentence each, printed with results and stored in results files.
NOT_MODELLED = (
    _N50_LEFT_OPEN,
    _CORRELATION_LEFT_OPEN,
    "Fog drop size is uncertain; water on windows is crude.",
    "Blur is the same over the frame; obstacles behind a person have air temperature; wet ground does not reflect people.",
    "The ground is flat; intruders do not tamper with cameras; no vehicles, insiders or computer attacks.",
    _NUISANCE_LEFT_OUT,
    "Local codes, privacy law and licensed practice come first; meeting a number here is not compliance with any of them.",
)

# In the place of that sentence where nuisance alarms were asked for.
NUISANCE_NOT_MODELLED = (
    "Nuisance alarms rest on rates, and on shares taken for a person, that are judgement until there is a log of alarms on site.",
    "A web or flag that blinds the analytics, analytics that learn, animals in groups, the transmission of alarms, and their "
    "assessment and response are left out.",
)
# In the place of those sentences where walks on site have calibrated N50 and the correlation.
_CALIBRATED = {
    _N50_LEFT_OPEN: "A resolution law for human observers stands in for analytics, at an N50 from walks on this site.",
    _CORRELATION_LEFT_OPEN: "Walks say little of how alike two cameras judge one intruder; nobody who walked climbed or hid.",
}


def not_modelled(nuisance: bool, calibrated: bool = False) -> tuple[str, ...]:
    """What a run's results leave out; nuisance: whether they count nuisance alarms; calibrated: whether walks calibrated N50."""
    said = tuple(_CALIBRATED.get(line, line) for line in NOT_MODELLED) if calibrated else NOT_MODELLED
    if not nuisance:
        return said
    at = said.index(_NUISANCE_LEFT_OUT)
    return (*said[:at], *NUISANCE_NOT_MODELLED, *said[at + 1 :])
