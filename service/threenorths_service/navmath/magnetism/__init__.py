"""The magnetic field of the earth, by date and by model."""
