"""Checks: reported positions and bearings against what was expected, and which common slip explains a miss."""
