"""What files say by themselves: a scenario read once for several questions, and what straps number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from pathlib import Path

    from solver.files.reading import Loaded
    from solver.reports.blocks import BlocksReport
    from solver.room.hardware import Hardware


def load(scenario: str | Path) -> Loaded:
    """Read a scenario and its hardware, to ask about it more than once or with changes.

    Parameters
    ----------
    scenario
        The file.

    Returns
    -------
    Loaded
        `scenario`, `hardware` and the `warnings` about the files.

    Raises
    ------
    FileFaults
        With every fault of every file.

    Examples
    --------
    >>> files = solver.load("scenarios/quay-mix-rig.toml")
    >>> less = files.scenario.model_copy(update={"budget": 3000})
    >>> solver.plan(less, hardware=files.hardware, top=1).builds[0].cost
    '2380.00'
    """
    return asking.loaded(scenario, None)


def blocks(
    hardware: str | Path | Hardware, *, chassis: str | None = None, board: str | None = None, rate: int = 48000
) -> BlocksReport:
    """Show what each strap setting of a board numbers.

    Parameters
    ----------
    hardware
        A hardware file, or hardware that stands for itself.
    chassis, board
        Only this chassis, only this board.
    rate
        Sample rate in hertz.

    Returns
    -------
    BlocksReport
        Every legal setting, with the first number and the width of each slot's block.

    Raises
    ------
    FileFaults
        With every fault of the file.
    WrongQuestion
        If there is no such chassis, board or rate.

    Examples
    --------
    >>> report = solver.blocks("scenarios/hardware/quay.toml", chassis="tern-6", board="slate-32")
    >>> report.boards[0].settings[0].inputs[0]
    [1, 8]
    """
    from pathlib import Path

    from solver.answers.blocks import blocks, fitted
    from solver.files.reading import load_hardware, take_hardware

    if isinstance(hardware, str | Path):
        found, warnings, name = *load_hardware([Path(hardware)]), str(hardware)
    else:
        found, warnings, name = *take_hardware(hardware), "the hardware"
    return blocks(fitted(found, name, chassis, board, rate), warnings)
