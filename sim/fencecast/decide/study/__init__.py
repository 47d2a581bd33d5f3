"""Layout strategies over many yards: the study file, its pieces, their results."""
