"""How whatever is made of a rehearsal says so: the log's rows and the warnings on it; what is said: `findings.rehearsal`.

Tests: tests/prove/walks/test_rehearse.py, tests/findings/test_proved_words.py.
"""

REHEARSAL = "rehearsal: simulated"  # the note of every row
OF_A_REHEARSAL = "of a rehearsal: simulated, nobody walked them"  # in the warning on such a log
