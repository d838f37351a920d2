"""Data files: species, tanks, pieces, parameters."""
