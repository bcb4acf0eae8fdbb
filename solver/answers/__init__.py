"""What somebody asks of a scenario, from the files to the document of the answer; nothing here prints or parses."""
