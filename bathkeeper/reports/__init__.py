"""What the workshop hands to other people: one model of a report, and what makes terminal text, PDF, CSV and JSON of it."""
