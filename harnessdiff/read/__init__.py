"""Reading and checking: from files to the model, every problem with its place in the file."""
