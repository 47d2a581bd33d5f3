"""`fencecast tradeoff`: metres at the requirement against alarms a night, one setting changed at a time."""
