"""Deciding: designs compared on the same crossings, losses, proposals of cameras, studies of layouts."""
