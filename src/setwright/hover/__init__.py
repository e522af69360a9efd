"""Hover: every mistake a person can make in this setup, what it would do, and the cheapest checks that catch it."""
