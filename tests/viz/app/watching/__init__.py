"""The living tank without a browser."""
