"""Places: where they are expected, on which grid they are worked, and the slips that put them elsewhere."""
