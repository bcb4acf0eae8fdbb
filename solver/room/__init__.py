"""Nouns, and the facts of a scenario: ids resolved, integers, legal layouts."""
