"""One module a verb; each has its click command as `verb`. Whatever is heavy is imported when the verb runs."""
