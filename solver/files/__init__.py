"""TOML to nouns and back, every fault of all files at once."""
