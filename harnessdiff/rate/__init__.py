"""From modifications and what follows from them to a level, with reasons."""
