"""The sections of a report, one module each: a frozen dataclass of what is said, and a function that makes it from results."""
