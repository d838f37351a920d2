"""Sensitivity: which assumed numbers an answer hangs on, and which do not matter."""
