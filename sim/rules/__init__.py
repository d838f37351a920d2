"""The rules of behaviour: one file, one behaviour, compiled once and used everywhere."""
