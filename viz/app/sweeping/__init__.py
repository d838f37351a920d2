"""How it goes with other values of up to four keys: a sweep, behind a page."""
