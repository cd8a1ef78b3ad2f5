"""What is due: each rule with a small book that makes it speak and one that does not."""
