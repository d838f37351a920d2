"""The film: one run of a tank, or of several with the same fish, as moving pictures."""
