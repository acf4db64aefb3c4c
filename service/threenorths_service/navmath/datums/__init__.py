"""Datums, and the one way from each to WGS 84."""
