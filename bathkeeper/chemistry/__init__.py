"""Formulas of plating chemistry: pure functions on plain floats, units in every name; this room knows nothing else of ours."""
