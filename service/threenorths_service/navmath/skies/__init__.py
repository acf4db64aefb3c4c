"""The sun, the moon and Polaris: their bearings, and the light that they give."""
