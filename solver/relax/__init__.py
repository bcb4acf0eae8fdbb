"""What somebody could change beyond the limits of the rules, and how a scenario's document is changed."""

from __future__ import annotations

from solver.relax.blanks import Blanks
from solver.relax.board import OtherBoard
from solver.relax.frame import OneMoreFrame
from solver.relax.other import OtherWish
from solver.relax.port import CabledPort
from solver.relax.rate import OtherRate

OTHERS: tuple[type[OtherWish], ...] = (CabledPort, OtherRate, Blanks, OtherBoard, OneMoreFrame)
"""In the order in which they are tried."""
