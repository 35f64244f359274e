"""A reference from tables that a person typed: wires, and answers to what they leave open."""
