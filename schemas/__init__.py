"""The JSON Schemas: the contract, shipped with the package."""
