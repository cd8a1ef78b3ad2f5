"""What is due, ranked, each with its why."""
