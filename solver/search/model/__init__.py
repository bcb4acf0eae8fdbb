"""Models: what they hold, how they are stated."""
