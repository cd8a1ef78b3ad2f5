"""Tests of the room that reads and writes the book."""
