"""Everything that computes: scenario, layout, state, rules, model, batch and comparison."""

__version__ = "0.1.0"
