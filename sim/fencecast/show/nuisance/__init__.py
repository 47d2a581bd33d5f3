"""Pictures of nuisance alarms: how many a night and of what, and where on the fence."""
