"""The direct-current network of a harness: what it is made of, solved in a condition, shorted, and over ranges."""
