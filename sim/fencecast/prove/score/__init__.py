"""What walks showed: claims with exact verdicts, prediction against observation, delay."""
