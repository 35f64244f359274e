"""Invented reference harnesses, shipped with the package."""
