"""Drawings in, results back out: from a map to a site file (`frommap`), and from a site to map files."""
