"""The command line: one file a command; nothing heavy is imported before it is needed."""
