"""Keeper's sums: what a tank weighs, what its fish do to the water, what the water holds.

They are sums on a scenario as it stands, one module each, and play no part in a run.
"""
