"""The demo: an invented van, surveyed."""
