"""Learn: what its page is made of; the lessons and challenges themselves know no browser."""
