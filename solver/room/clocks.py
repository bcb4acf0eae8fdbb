"""Devices that share one clock: what leads, what inputs and outputs they have, and how far they are from each other."""

from typing import Annotated, Literal

from pydantic import Field, Strict

from solver.room.hardware import Framing
from solver.room.words import MOST_PARTS, Flag, Noun, Positive, Quantity, Text, in_thousandths

ClockKind = Literal["word", "aes3", "madi", "network"]
"""Word clock on coax, AES3 or AES11, MADI, or a clock that comes over a network."""

Termination = Literal["switched", "fixed", "none"]


class ClockSocket(Noun):
    """What an input takes or an output gives. `rate` is that of a word clock in hertz, `framing` that of 96 kHz."""

    kind: ClockKind
    rate: Annotated[int, Strict()] | None = None
    framing: Framing | None = None


class ClockInputSocket(ClockSocket):
    """An input; `termination` says whether it ends a line of coax: a switch does, it always does, or it cannot."""

    termination: Termination | None = None


class ClockOutput(ClockSocket):
    """So many outputs of one kind; each drives a line of `most` devices where that is of word clock, else one."""

    count: Positive = 1
    most: Annotated[int, Strict(), Field(ge=1, le=16)] = 1


class ClockDevice(Noun):
    """A device by its name, which may be that of a frame.

    `ppm` is how far its own clock may be off; without it the device has none. `leads` says that it is the reference.
    An `asynchronous` one takes no clock; unless it leads its lines go through rate conversion, where it is `converted`.
    It has one input, and outputs, of each kind at most. `cables` has metres of cable to other devices.
    """

    name: Text
    ppm: Quantity | None = None
    leads: Flag = False
    asynchronous: Flag = False
    converted: Flag = False
    inputs: tuple[ClockInputSocket, ...] = Field((), max_length=4)
    outputs: tuple[ClockOutput, ...] = Field((), max_length=4)
    cables: dict[Text, Quantity] = Field({}, max_length=MOST_PARTS)

    def input(self, kind: ClockKind) -> ClockInputSocket | None:
        """Its input of a kind."""
        return next((own for own in self.inputs if own.kind == kind), None)

    def output(self, kind: ClockKind) -> ClockOutput | None:
        """Its outputs of a kind."""
        return next((own for own in self.outputs if own.kind == kind), None)

    @property
    def apart(self) -> bool:
        """Whether it runs by itself and its lines are converted."""
        return self.asynchronous and self.converted and not self.leads


def length_mm(devices: tuple[ClockDevice, ...], one: str, other: str) -> int | None:
    """Cable between two devices in millimetres, rounded up; 0 where no device tells any, None where these do not."""
    if not any(device.cables for device in devices):
        return 0
    ends = ((one, other), (other, one))
    told = [d.cables[far] for d in devices for near, far in ends if d.name == near and far in d.cables]
    return max(map(in_thousandths, told)) if told else None


def clock_rates(sample_rate: int) -> tuple[int, ...]:
    """Word clocks that a sample rate may have, in hertz: its own, and half of it above 48 kHz, a quarter above 96."""
    return tuple(sample_rate // part for part in (1, 2, 4) if part == 1 or sample_rate // part >= 44100)
