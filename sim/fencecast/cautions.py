"""What is said wherever results are shown: the caution, and what the model leaves out. Each stands here and nowhere else."""

CAUTION = "Planning aid: a prediction, not a proof and not life safety. Only tests on the finished site are proof."

# One sentence each, printed with results and stored in results files.
NOT_MODELLED = (
    "A resolution law for human observers stands in for analytics until walk tests calibrate it.",
    "How alike two cameras judge one intruder (encounter correlation) is a judgement.",
    "Fog drop size is uncertain; water on windows is crude.",
    "Blur is the same over the frame; obstacles behind a person have air temperature; wet ground does not reflect people.",
    "The ground is flat; intruders do not tamper with cameras; no vehicles, insiders or computer attacks.",
    "Nuisance alarms (animals, plants, weather), the transmission of alarms, and their assessment and response are left out.",
    "Local codes, privacy law and licensed practice come first; meeting a number here is not compliance with any of them.",
)
