"""The tanks that ship with Holdwater."""
