"""Runs at the bench: areas against integration, the live run, history."""
