"""Entries -> what is in each tank and how sure that is; what was learned about this shop."""
