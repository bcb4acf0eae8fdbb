"""What links carry, against packets that are built here, and figures of the standards."""

from __future__ import annotations

import struct

import pytest

from solver.physics import link
from solver.physics.link import Family


def packet(channels: int, samples: int) -> bytes:
    """An Ethernet frame with 24-bit audio as RFC 3550, 3190, 768 and 791 lay it out, and what the wire takes beside it.

    Fixed RTP header: version 2, payload type 98, sequence number, time, source; then big-endian samples of three
    octets, all channels of one instant together. On the wire (IEEE 802.3, from memory): preamble and start 8,
    addresses and type 14, check sequence 4, gap 12.
    """
    audio = b"".join(struct.pack(">i", n)[1:] for n in range(channels * samples))
    rtp = struct.pack(">BBHII", 2 << 6, 98, 1, 48, 0x5157) + audio
    udp = struct.pack(">HHHH", 5004, 5004, 8 + len(rtp), 0) + rtp
    ip = struct.pack(">BBHHHBBH4s4s", 0x45, 0x88, 20 + len(udp), 0, 0, 32, 17, 0, bytes(4), bytes(4)) + udp
    return bytes(8) + struct.pack(">6s6sH", bytes(6), bytes(6), 0x0800) + ip + bytes(4) + bytes(12)


@pytest.mark.parametrize("family", ["48", "96", "192"])
@pytest.mark.parametrize("packet_us", sorted(link.PACKET_SAMPLES))
def test_streams_take_what_their_packets_take(family: Family, packet_us: int) -> None:
    rate = 1000 * int(family)
    samples = link.packet_samples(packet_us, family)
    assert abs(1_000_000 * samples / rate - packet_us) < 1
    most = link.most_in_stream(packet_us, family)
    for channels in range(1, most + 1):
        octets = len(packet(channels, samples))
        assert channels * samples * 3 <= 1440
        assert link.stream_bits(channels, packet_us, family, rate) == -(-octets * 8 * rate // samples)
    assert (most + 1) * samples * 3 > 1440


def test_figures_of_aes67() -> None:
    """48 kHz, 1 ms, 24 bits: 10 channels, 5 at 96 kHz; 8 channels 1152 octets, 1230 on the wire, 9.84 Mbit/s."""
    assert (link.most_in_stream(1000, "48"), link.most_in_stream(1000, "96")) == (10, 5)
    assert len(packet(8, 48)) == 1152 + 78 == 1230
    assert link.stream_bits(8, 1000, "48", 48000) == 9_840_000
    assert 8 * link.stream_bits(8, 1000, "48", 48000) == 78_720_000


FAMILIES: tuple[tuple[Family, int], ...] = (("48", 48_000), ("96", 96_000))
DATA = 100_000_000
"""Bits a second that a MADI line carries (AES10)."""


@pytest.mark.parametrize(("family", "rate"), FAMILIES)
def test_madi_fits_its_line(family: Family, rate: int) -> None:
    """Channels of 32 bits each; those of a fixed rate do not fit 12.5 % above it."""
    fixed, varied = link.madi_channels(family), link.madi_channels(family, varispeed=True)
    assert fixed * 32 * rate <= DATA < fixed * 32 * rate * 9 // 8
    assert varied * 32 * rate * 9 // 8 <= DATA
    assert (fixed, varied) == {"48": (64, 56), "96": (32, 28)}[family]


def test_aes3_lines() -> None:
    """Two channels a line; at 96 kHz also one, where each channel takes two lines (AES3, common practice)."""
    assert [link.aes3_channels("48"), link.aes3_channels("96"), link.aes3_channels("96", two_lines=True)] == [2, 2, 1]
