"""Lengths, heights, times and slopes, measured or estimated in the field."""
