"""The Textual app: thin over the workshop; screens, widgets, and nothing that another room could say."""
