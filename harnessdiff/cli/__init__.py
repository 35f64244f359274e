"""The command line: options, one call into the pipeline, print, exit code."""
