"""Frozen dataclasses that every stage speaks in; nothing but the standard library."""
