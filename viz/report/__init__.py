"""The report: one HTML file with everything that was found, to read, print and hand on."""
