"""The parts of Repeat and Compare that have a file of their own."""
