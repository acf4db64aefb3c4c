"""Angles and positions as people write and say them."""
