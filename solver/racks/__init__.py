"""Racks: what stands in one, the rules of its places, and what places come to."""
