"""Drawn parts: the row of vessels, bars against windows, the trend."""
