"""What is said wherever results are shown: the caution, and what the model leaves out. Each stands here and nowhere else."""

CAUTION = "Planning aid: a prediction, not a proof and not life safety. Only tests on the finished site are proof."

_NUISANCE_LEFT_OUT = (
    "Nuisance alarms (animals, plants, weather), the transmission of alarms, and their assessment and response are left out."
)
# One sentence each, printed with results and stored in results files.
NOT_MODELLED = (
    "A resolution law for human observers stands in for analytics until walk tests calibrate it.",
    "How alike two cameras judge one intruder (encounter correlation) is a judgement.",
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


def not_modelled(nuisance: bool) -> tuple[str, ...]:
    """What a run's results leave out; nuisance: whether they count nuisance alarms."""
    if not nuisance:
        return NOT_MODELLED
    at = NOT_MODELLED.index(_NUISANCE_LEFT_OUT)
    return (*NOT_MODELLED[:at], *NUISANCE_NOT_MODELLED, *NOT_MODELLED[at + 1 :])
