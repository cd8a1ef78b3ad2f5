"""One file a screen, each with its stylesheet beside it."""
