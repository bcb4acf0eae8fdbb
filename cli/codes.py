"""The exit codes of commands; `cli.stop` adds those of a command that was interrupted."""

from __future__ import annotations

FOUND = 0
"""There is an answer, and it is none of the next three."""

IMPOSSIBLE = 1
"""It is proven that there is no build, or none as it is asked for."""

FAULTY = 1
"""A build that was given breaks a rule."""

CHANGED = 1
"""A list that was given has something otherwise than the build."""

USAGE = 2
"""The command or its files are wrong."""

UNKNOWN = 3
"""A limit ended it without an answer."""

INTERNAL = 4
"""A defect of this program."""
