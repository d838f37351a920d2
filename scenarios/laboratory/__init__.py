"""Set-ups of published experiments, in the language of a keeper's tank."""
