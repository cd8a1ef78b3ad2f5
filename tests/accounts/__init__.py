"""The shelf: what was bought, used and counted."""
