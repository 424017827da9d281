"""Checks to come."""
