"""Buying in phases: what is bought when, and where it goes."""
