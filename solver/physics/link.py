"""What a link to a recorder carries, by the standards of its kind."""

from __future__ import annotations

from typing import Literal

Family = Literal["48", "96", "192"]

MADI_CHANNELS: dict[tuple[Family, bool], int] = {
    ("48", False): 64,
    ("48", True): 56,
    ("96", False): 32,
    ("96", True): 28,
}
"""Channels of a MADI line by sample-rate family, and whether the rate may vary by 12.5 % (AES10)."""

SAMPLE_OCTETS = 3
"""Octets of a sample of 24 bits (L24, RFC 3190)."""

MOST_PAYLOAD = 1440
"""The most octets of audio in a packet (AES67)."""

HEADERS = 12 + 8 + 20 + 38
"""Octets of a packet beside its audio: RTP (RFC 3550), UDP (RFC 768), IPv4 (RFC 791), and Ethernet with its gap."""

PACKET_SAMPLES = {125: 6, 250: 12, 333: 16, 1000: 48, 4000: 192}
"""Samples of a channel in a packet of so many microseconds, at 48 kHz (AES67)."""

PLAIN_STREAM = 8
"""Channels of a stream that every AES67 receiver takes."""


def times(family: Family) -> int:
    """How many times the samples of 48 kHz a family has."""
    return int(family) // 48


def madi_channels(family: Family, *, varispeed: bool = False) -> int:
    """Channels of a MADI line; 0 where AES10 names none."""
    return MADI_CHANNELS.get((family, varispeed), 0)


def aes3_channels(family: Family, *, two_lines: bool = False) -> int:
    """Channels of an AES3 line: two, or at 96 kHz one where each channel takes two lines; 0 above that."""
    return {"48": 2, "96": 1 if two_lines else 2, "192": 0}[family]


def packet_samples(packet_us: int, family: Family) -> int:
    """Samples of each channel in a packet of AES67."""
    return PACKET_SAMPLES[packet_us] * times(family)


def most_in_stream(packet_us: int, family: Family) -> int:
    """Channels that fit a packet's payload: at 48 kHz and 1 ms 10, at 96 kHz 5."""
    return MOST_PAYLOAD // (SAMPLE_OCTETS * packet_samples(packet_us, family))


def stream_bits(channels: int, packet_us: int, family: Family, rate: int) -> int:
    """Bits a second of one stream on the wire, rounded up.

    Parameters
    ----------
    channels
        In the stream.
    packet_us
        Microseconds of audio in a packet, one of `PACKET_SAMPLES`.
    rate
        Samples a second.
    """
    samples = packet_samples(packet_us, family)
    octets = channels * samples * SAMPLE_OCTETS + HEADERS
    return -(-octets * 8 * rate // samples)
