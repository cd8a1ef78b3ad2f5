"""What is told of an estimate: how a content went, why a number holds, what an entry changed."""
