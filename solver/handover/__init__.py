"""The hand-over of a build: its connectors and looms, its bays, labels, and finding one from another."""
