"""Better layouts: where the loose pieces of a tank should stand so that fewer fish are hurt."""
