"""Building: the page on which everything is done to the tank, on the tank."""
