"""Advice: worked cases, laws, rivals."""
