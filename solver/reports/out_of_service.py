"""What is out of service, as notes tell it."""

from __future__ import annotations

from solver.room.out_of_service import OutOfService
from solver.room.scenario import Scenario


def out_of_service(scenario: Scenario) -> list[str]:
    """Everything that is out of service, with symptom, finder and day."""
    return [f"out of service: {told(scenario, entry)}: {entry.why}" for entry in scenario.out_of_service]


def told(scenario: Scenario, entry: OutOfService) -> str:
    """What an entry names, with the card that stands there."""
    place, asset = scenario.seat_of(entry), scenario.asset_of(entry)
    card = None if place is None else scenario.gone.get(place)
    if asset is not None:
        return f"{asset.told} {f'in slot {asset.at}' if card else 'on the shelf'}"
    return entry.told if card is None else f"{entry.told} ({card})"
