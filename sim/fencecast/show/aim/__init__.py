"""Aim sheets: one A4 page a camera, for whoever stands on the ladder."""
