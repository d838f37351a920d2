"""How it goes with other values of one or two keys: a sweep, behind a page."""
