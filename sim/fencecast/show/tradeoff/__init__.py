"""The picture of `fencecast tradeoff`: metres against alarms."""
