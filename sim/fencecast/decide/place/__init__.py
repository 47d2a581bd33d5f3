"""Proposals of cameras: where they may stand, what each would see, and the search for a set that meets the requirement."""
