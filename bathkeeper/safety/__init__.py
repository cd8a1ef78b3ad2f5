"""What can hurt in this workshop, and what a plated part may need before it is used: hazards, meetings, bakes, threads."""
