"""From two harnesses to what was changed: edits, modifications, installs."""
