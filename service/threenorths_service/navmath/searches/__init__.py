"""Areas in which somebody may be."""
