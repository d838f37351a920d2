"""The parts of Watch that have a file of their own."""
