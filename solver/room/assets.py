"""Cards that are known one by one, by their serial numbers."""

from __future__ import annotations

from solver.room.words import Id, Noun, Text

SHELF = "shelf"
"""Where an asset is that stands in no frame."""


class Asset(Noun):
    """One card with a `serial` number of its own, and where it is now: in a slot of what stands, or on the shelf."""

    card: Id
    serial: Text
    at: Text

    @property
    def told(self) -> str:
        """Card and serial number."""
        return with_serial(self.card, self.serial)

    def is_called(self, name: str) -> bool:
        """Whether a name, such as ``serial:0117``, is that of this card."""
        return name.strip().casefold() == f"serial:{self.serial}".casefold()

    @property
    def where(self) -> str:
        """Where it is, after what it is called."""
        return "is on the shelf" if self.at == SHELF else f"is in slot {self.at} now"


def with_serial(card: str, serial: str | None) -> str:
    """A card in words, with its serial number where it has one that is known."""
    return card if serial is None else f"{card} (serial {serial})"
