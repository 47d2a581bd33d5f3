"""Pictures of the site as built: what was read in each camera's picture, and how it is turned."""
