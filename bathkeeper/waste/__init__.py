"""What is to be done with what was dumped: rule sets, candidate codes, the plan for a container, papers; never a verdict."""
