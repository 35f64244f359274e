"""Published numbers and common practice as data: every row with its unit, source and status."""
