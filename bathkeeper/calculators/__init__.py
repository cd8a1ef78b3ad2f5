"""Calculators: questions that need no book. The command line, JSON, forms and help are all made from one registry."""
