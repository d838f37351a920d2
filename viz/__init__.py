"""Everything a person sees: command line, tables, words, plots."""
