"""Patterns of the literature, played as their papers played them."""
