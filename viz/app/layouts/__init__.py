"""A better layout for the tank that is worked on, searched for behind a page."""
