"""Pictures of walk tests: what is planned, what was walked, and whether the two agree."""
