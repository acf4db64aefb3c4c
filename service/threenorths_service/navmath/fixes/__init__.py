"""Fixes from any mixture of observations, and what contradicts them."""
