"""What a build must keep, what it is ranked by, and what it might do better."""
