"""Lines, rays, and walks of many legs."""
