"""Several kinds of day on one seating."""
