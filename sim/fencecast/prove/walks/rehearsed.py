"""How whatever is made of a rehearsal says so: the log's rows, the warnings on it, the calibrated file, the report.

Tests: tests/prove/walks/test_rehearse.py, tests/findings/test_proved_words.py.
"""

REHEARSAL = "rehearsal: simulated"  # the note of every row
OF_A_REHEARSAL = "of a rehearsal: simulated, nobody walked them"  # in the warning on such a log
NOBODY_WALKED = "(rehearsal, nobody walked)"  # behind the days of a calibration
