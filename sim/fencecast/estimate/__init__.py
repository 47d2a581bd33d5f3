"""From sums to answers: rounds of crossings, intervals, verdicts, the results Dataset."""
