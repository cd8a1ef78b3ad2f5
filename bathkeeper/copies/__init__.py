"""Everything in a book as plain files: entries, estimates over time, what was learned, runs, stock; for any program to read.

Nothing here writes: tables and their bytes are made here, ``logbook`` puts them on the disk.
"""
