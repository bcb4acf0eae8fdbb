"""Strapwork's engine: nouns, rules, search and report for modular converter frames.

Nothing here imports the CP-SAT package except ``solver.search``.
"""
