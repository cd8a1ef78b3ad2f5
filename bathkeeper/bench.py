"""The use cases at the bench: areas, setting the run, walking the line, what became of it."""
