"""Map sheets: their edges, what they print, and whether it makes sense."""
