"""The only folder with CP-SAT."""
