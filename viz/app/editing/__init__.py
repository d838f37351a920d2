"""Editing: a tank as a draft that is changed by hand, checked, opened and saved."""
