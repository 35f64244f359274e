"""From findings to sheets: what to show, where it goes, and how it looks."""
