"""A small book is the test: entries in, then what the program must say about each tank."""
