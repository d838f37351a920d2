"""The living tank from above: what stands in it, and its fish as they move."""
