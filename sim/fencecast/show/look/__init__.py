"""Pictures of looks: one look, the camera's view, Pd against distance."""
