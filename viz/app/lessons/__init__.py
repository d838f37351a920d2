"""Lessons: seeing and counting, one tank is not an experiment, why parents turn on neighbours."""
