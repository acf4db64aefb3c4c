"""Checks of a compass: its own error, its deviation, and what draws it."""
