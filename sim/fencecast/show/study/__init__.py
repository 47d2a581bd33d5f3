"""Pictures of studies and of proposals' costs."""
