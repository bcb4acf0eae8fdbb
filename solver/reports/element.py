"""What every document of an answer is made of, and what is wrong with builds and files, as documents have it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Literal

from pydantic import BaseModel, ConfigDict

from solver.room.faults import Fault


class Element(BaseModel):
    """What a document is made of: the document itself, and every table in it."""

    model_config = ConfigDict(
        defer_build=True, frozen=True, extra="forbid", populate_by_name=True, serialize_by_alias=True
    )

    def as_json(self) -> str:
        """The document as JSON text in ASCII, valid whatever encoding it is written in; without timings."""
        return json.dumps(self.model_dump(mode="json"), indent=2) + "\n"


class BrokenLimit(Element):
    """A fault of a build: the rule, where, what was found and what the limit is."""

    rule: str
    room: str | None = None
    frame: str | None
    slot: int | None
    subject: str | None
    found: int
    limit: int
    unit: str
    text: str


class FileFault(Element):
    """A fault of a file, or a warning about it: the key, what stands there, what may, and the name most like it.

    `line` and `column` are null where the file could be read and a key is named. `file` is null where the command
    itself is at fault; `option` is then the option or argument that is, if it is one.
    """

    file: str | None
    path: list[str | int]
    line: int | None
    column: int | None
    message: str
    found: str | None
    allowed: list[str]
    nearest: str | None
    text: str
    option: str | None = None

    @classmethod
    def of(cls, fault: Fault) -> FileFault:
        """A fault of the loader as plain data; `text` is the line that the screen shows."""
        return cls(
            file=fault.file or None,
            path=list(fault.path),
            line=fault.line,
            column=fault.column,
            message=fault.message,
            found=fault.found,
            allowed=list(fault.allowed),
            nearest=fault.nearest,
            text=fault.text(),
            option=fault.option,
        )


def file_warnings(faults: Iterable[Fault]) -> list[FileFault]:
    """The warnings among the loader's findings."""
    return [FileFault.of(fault) for fault in faults if fault.severity == "warning"]


class Refused(Element):
    """In place of a report where the command or its files cannot be used."""

    format: Literal[1] = 1
    outcome: Literal["refused"] = "refused"
    faults: list[FileFault]
    warnings: list[FileFault] = []

    @classmethod
    def of(cls, found: Sequence[Fault]) -> Refused:
        """All faults and warnings of all files, in file order, or what is wrong with the command."""
        faults = [FileFault.of(fault) for fault in found if fault.severity == "fault"]
        return cls(faults=faults, warnings=file_warnings(found))
