"""Grid references of MGRS and USNG, read and written in arrays."""
