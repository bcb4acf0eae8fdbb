"""The search: the only room that imports the CP-SAT package."""
