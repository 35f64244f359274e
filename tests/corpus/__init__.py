"""Documents of every version that was ever written, kept as they were, and read for ever after."""
