"""How a number is tested: what to send, where to see it, and which level to expect, by what is at its far end.

Without a far end, or a card's full-scale level, the sheet says what to reckon with. Common practice, no source.
"""

from __future__ import annotations

from typing import NamedTuple

from solver.handover.ends import FarPath
from solver.handover.levels import LOST_OPEN
from solver.room.ends import decibels, parse_level
from solver.room.words import Direction

SENT = -18_000
"""Thousandths of a decibel below full scale of the tone that the recorder sends."""

THERE = "a meter on the far end of its loom, unplugged there"


class Sending(NamedTuple):
    """What to send, where to see it, what to expect."""

    send: str
    see: str
    expect: str


def sending(direction: Direction, signal: str, digital: bool, far: FarPath | None, full_scale: str | None) -> Sending:
    """How a number is tested.

    Parameters
    ----------
    far
        What is at its far end, where a file tells it.
    full_scale
        The level of digital full scale, such as ``+24 dBu``, that its card is set to, where it is known.
    """
    scale = None if full_scale is None or digital else parse_level(full_scale)
    if direction == "in":
        return _into(signal, digital, far, scale)
    if far is not None and far.end.feeds is not None:
        return _heard(far, scale)
    lost = _lost(far)
    expect = "-18 dBFS, as sent" if digital else "the card's full-scale level less 18 dB"
    if scale is not None:
        expect = f"{_dbu(scale + SENT - lost)}{_one_leg(lost)}"
    return Sending("1 kHz at -18 dBFS from the recorder", THERE, expect + _turned(far))


def _into(signal: str, digital: bool, far: FarPath | None, scale: int | None) -> Sending:
    see = "the recorder's channel"
    if digital:
        return Sending("1 kHz at -18 dBFS from the source's end", see, "-18 dBFS, as sent")
    if signal == "mic":
        sent, level = "1 kHz at -40 dBu from the source's end, 40 dB of gain", "0 dBu"
    else:
        level = "0 dBu" if far is None or far.end.nominal is None else far.end.nominal
        sent = f"1 kHz at {level} from the source's end"
    expect = f"{level} less the card's full-scale level"
    if scale is not None:
        expect = f"{decibels(parse_level(level) - scale)} dBFS"
    return Sending(sent, see, expect + _turned(far))


def _heard(far: FarPath, scale: int | None) -> Sending:
    """A line that people or a transmission hear: no tone, or the lowered one that the line says may be sent."""
    tone = far.end.tone
    heard = "headphones" if far.end.feeds == "headphones" else f"a {far.end.feeds}"
    if tone is None:
        send = f"NO TONE, it feeds {heard}: bell out its line, unplugged at both ends"
        return Sending(send, "the tester", "pin to pin, no shorts" + _turned(far))
    lost = _lost(far)
    level = "raised from silence" if scale is None else f"at {decibels(parse_level(tone) - scale + lost)} dBFS"
    return Sending(f"1 kHz {level} from the recorder, no more: it feeds {heard}", THERE, tone + _turned(far))


def _dbu(thousandths: int) -> str:
    return f"{'+' if thousandths > 0 else ''}{decibels(thousandths)} dBu"


def _lost(far: FarPath | None) -> int:
    """What an output loses where one leg carries nothing."""
    return LOST_OPEN if far is not None and far.end.cold == "open" else 0


def _one_leg(lost: int) -> str:
    return " on one leg" if lost else ""


def _turned(far: FarPath | None) -> str:
    return "; polarity reversed" if far is not None and far.end.inverted and far.end.turned_at is None else ""
