"""Fixes from bearings alone: intersections and resections."""
