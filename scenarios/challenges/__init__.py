"""Challenges of the app: a tank each, what may be changed in it, and when it is passed."""
