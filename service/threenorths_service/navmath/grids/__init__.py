"""Grids: UTM, UPS, and any projected system of the EPSG dataset, on their ellipsoids."""
