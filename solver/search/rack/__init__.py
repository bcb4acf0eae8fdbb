"""Where things go in a rack, and why they cannot."""
