"""The documents, how they are filled, and words."""
