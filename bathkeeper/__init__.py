"""bathkeeper: a logbook that does the chemistry of a small plating line."""

__version__ = "0.1.0"
