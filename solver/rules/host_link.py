"""What serves a need comes to the host: its number is on a host port that the frame is cabled to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from functools import partial

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.physics.link import most_in_stream, stream_bits
from solver.room.faults import quote
from solver.room.links import cabled
from solver.room.message import Message, joined, tell
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, SIDES
from solver.rules.finding import Finding, at_slot, by_slot_and_need, channels_text
from solver.rules.limit import Draft, Limit, Near, Place, Reading, Rule, Unyielding, frames_at, in_frame


class HostLink(Rule):
    """Numbers that come to the host."""

    code = "host-link"
    speaks_of = "lines"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame that is cabled, each board that it may have and each direction the last number that comes."""
        for site in survey.frames:
            for board, reach in sorted(site.reach.items()):
                for direction in DIRECTIONS:
                    place = Place(frame=site.name, direction=direction, subject=board)
                    yield Limit(self.code, place, reach[direction], "channels")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """The highest number that is to serve; None with another board, or without numbers."""
        for frame in frames_at(standing, limit):
            if frame.layout is None or frame.built.board != limit.place.subject:
                return None
            own = [use for use in frame.named if use.need.direction == limit.place.direction]
            return max((_last(frame, use) for use in own), default=0)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Nothing: layouts of the search have no other numbers (`Layout.up_to`)."""

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        direction = limit.place.direction or "in"
        bad = [use for use in frame.named if use.need.direction == direction and _last(frame, use) > limit.bound]
        for (slot, name), indices in by_slot_and_need(bad).items():
            carry = "carries" if len(set(indices)) == 1 else "carry"
            text = f"{channels_text(direction, indices)} {carry} {quote(name)}, past the host ports"
            text += (
                f", which end at {direction} {limit.bound}" if limit.bound else f", which carry no {SIDES[direction]}"
            )
            yield Finding(f"{at_slot(frame, slot)}: {text}", len(indices), frame.site.name, slot, name)

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The host port of frames that are cabled to none, where others are."""
        if survey.host_ports:
            for frame in standing.frames:
                if not frame.site.reach:
                    yield Unknown("host link", "host port", f"frame {frame.site.name}"), 1

    # How it is told

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        """The last number of each direction that is used."""
        if not reading.used:
            return None
        limit = reading.limit
        text = "host ports{where}: {direction} {used} of {bound}"
        said = tell(
            text,
            where=in_frame(survey, limit),
            direction=limit.place.direction or "",
            used=reading.used,
            bound=limit.bound,
        )
        return Near(said, _ports(survey, limit))

    def lifted(self, survey: Survey) -> Survey | None:
        return _uncut(survey) if any(site.reach for site in survey.frames) else None

    def over(self, survey: Survey, reading: Reading) -> Message:
        limit = reading.limit
        text = "{direction} {used} of {bound} on the host ports{where}"
        return tell(
            text,
            direction=limit.place.direction or "",
            used=reading.used,
            bound=limit.bound,
            where=in_frame(survey, limit),
        )

    def unyielding(self, survey: Survey) -> Iterator[Unyielding]:
        """What the host ports of each frame carry."""
        for site in survey.frames:
            counts = {tuple(reach[d] for d in DIRECTIONS) for reach in site.reach.values()}
            if counts:
                most_in, most_out = (max(own[at] for own in counts) for at in range(2))
                said = tell(
                    "the host ports cabled to frame {frame} carry {most_in} in, {most_out} out",
                    frame=site.name,
                    most_in=most_in,
                    most_out=most_out,
                )
                yield Unyielding(self.code, said, partial(_uncut, frame=site.name))


def _ports(survey: Survey, limit: Limit) -> Message:
    """The ports of a frame with the channels that they carry, and what streams take of a network."""
    board = next(board for board in survey.hardware.board if board.id == limit.place.subject)
    told = []
    for each in cabled(survey.host_ports, limit.place.frame or "", board):
        count = each.carries(survey.family, limit.place.direction or "in")
        port, streams = each.port, ""
        if port.kind == "aes67" and port.streams is not None and count:
            own = min(port.stream_channels, most_in_stream(port.packet_us, survey.family))
            sizes = [own] * (count // own) + [count % own] * (count % own > 0)
            bits = sum(stream_bits(size, port.packet_us, survey.family, survey.sample_rate) for size in sizes)
            streams = f" in {len(sizes)} streams, {Decimal(bits) / 10**6:.2f} Mbit/s"
        behind = "" if port.through is None else ", behind another frame"
        told.append(f"{quote(port.through or port.name)} carries {count}{streams}{behind}")
    return joined([tell("{told}", told=each) for each in told])


def _last(frame: FrameStanding, use: Use) -> int:
    """The last number that the board gives the line of a channel; 0 where it gives none."""
    line = () if use.channel is None else use.channel.line
    numbers = [frame.on_board(use.need.direction, use.slot, index) for index in line]
    return max((number for number in numbers if number is not None), default=0)


def _uncut(survey: Survey, frame: str | None = None) -> Survey:
    """A room whose frames, or one of them, reach the host with all numbers of their boards."""
    frames = (
        replace(site, reach={}, layouts=site.uncut[0], candidates=site.uncut[1])
        if site.reach and frame in (None, site.name)
        else site
        for site in survey.frames
    )
    return replace(survey, frames=tuple(frames))
