"""From reference and survey to the as-found harness: which element an observation means."""
