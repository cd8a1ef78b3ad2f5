"""Logged traces: a corpus of small files, what is made of them, and what must be asked."""
