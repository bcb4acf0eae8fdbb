"""Several rooms together."""
