"""What walks teach: N50, correlation, spread between places, and the next walks."""
