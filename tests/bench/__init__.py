"""Measurements that print ratios and assert nothing."""
