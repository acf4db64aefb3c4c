"""Directions: the angles between the norths, bearings, compass settings, angles printed on sheets."""
