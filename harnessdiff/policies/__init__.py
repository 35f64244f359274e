"""Policies that ratings go by, shipped with the package."""
