"""The command line, verb by verb, as a person or a script would use it."""
