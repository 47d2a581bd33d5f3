"""Pictures of the hours of a year."""
