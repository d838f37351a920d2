"""Why a batch came out as it did: what is told of it, and what is taken away to see."""
