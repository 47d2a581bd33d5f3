"""What the air, sky and ground are doing: weather classes today, hourly records later."""
