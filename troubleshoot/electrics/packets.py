"""Turnout numbers, decoder addresses and the bytes and times of packets.

Rules: whole numbers. The published text can be read so that the first turnout sits on decoder 1 or on
decoder 0; the two readings lie exactly four turnout numbers apart. So the numbering base (1 or 0) is always
an argument and comes from the layout record. Source of every bit layout: NMRA S-9.2 (2004), S-9.2.1 section
D, S-9.2.2.
"""

from collections.abc import Sequence
from dataclasses import dataclass

PER_DECODER = 4
"""Turnouts of one decoder address. Source: NMRA S-9.2.1 section D."""

BROADCAST = 511
"""Decoder address that all accessory decoders hear. Source: NMRA S-9.2.1 section D."""

PREAMBLE = 14
"""Least ones that a station sends ahead of a packet. Source: NMRA S-9.2 section A."""

ONE_BIT, ZERO_BIT = 116e-6, 200e-6
"""Nominal length of a one and of a zero, s. Source: NMRA S-9.1 (2020) Table 1."""


@dataclass(frozen=True, slots=True)
class Output:
    """Where a turnout sits: decoder address, pair 0 to 3 of it, and output 0 or 1 of the pair."""

    decoder: int
    pair: int
    output: int = 0


def output_of(turnout: int, base: int = 1) -> Output:
    """Decoder address and pair of a turnout number.

    Formula: decoder (t - 1)//4 + base, pair (t - 1) mod 4; base 1 or 0. Units: numbers. Source: S-9.2.1
    section D. Raises ValueError when no decoder can have the number.
    """
    decoder, pair = divmod(turnout - 1, PER_DECODER)
    decoder += base
    if turnout < 1 or base not in (0, 1) or decoder >= BROADCAST:
        raise ValueError(f"no decoder can have turnout number {turnout} when counting starts at decoder {base}")
    return Output(decoder, pair)


def turnout_of(decoder: int, pair: int, base: int = 1) -> int:
    """Turnout number of a pair (0 to 3) of a decoder address.

    Formula: 4 (decoder - base) + pair + 1. Units: numbers. Source: S-9.2.1 section D.
    """
    return PER_DECODER * (decoder - base) + pair + 1


def turnouts_of(decoder: int, base: int = 1) -> tuple[int, ...]:
    """The four turnout numbers of a decoder address.

    Formula: as `turnout_of`. Units: numbers. Source: S-9.2.1.
    """
    return tuple(turnout_of(decoder, pair, base) for pair in range(PER_DECODER))


def last_turnout(base: int = 1) -> int:
    """Greatest turnout number below the broadcast address.

    Formula: of decoder 510, pair 3. Source: S-9.2.1.
    """
    return turnout_of(BROADCAST - 1, PER_DECODER - 1, base)


def numbering_shift(turnout: int) -> int:
    """Turnout numbers between the two ways of counting.

    Formula: 4 (decoder from 1 - decoder from 0) = 4. Units: numbers. Source: arithmetic on S-9.2.1.
    """
    return PER_DECODER * (output_of(turnout, 1).decoder - output_of(turnout, 0).decoder)


def answers_instead(turnout: int, base: int = 1) -> dict[str, int]:
    """Which number a decoder answers to instead, by what went wrong.

    Formula: +-4 for the numbering base, +-256 for lost high bits, to CV1 alone t mod 256 within the decoder.
    Units: numbers. Source: arithmetic on S-9.2.1 and S-9.2.2.
    """
    at = output_of(turnout, base)
    return {
        "base-lower": turnout - PER_DECODER,
        "base-higher": turnout + PER_DECODER,
        "high-bits-lost": turnout_of(at.decoder % 64, at.pair, base),
    }


def decoder_cvs(decoder: int) -> tuple[int, int]:
    """CV1 and CV9 of a decoder address. Formula: address mod 64, address // 64. Source: NMRA S-9.2.2."""
    return decoder % 64, decoder // 64


def output_cvs(address: int) -> tuple[int, int]:
    """CV1 and CV9 of an output address. Formula: address mod 256, address // 256. Source: NMRA S-9.2.2."""
    return address % 256, address // 256


def decoder_from_cvs(cv1: int, cv9: int) -> int:
    """Decoder address that a decoder in decoder mode has. Formula: CV1 + 64 CV9. Source: NMRA S-9.2.2."""
    return cv1 % 64 + 64 * cv9


def error_byte(data: Sequence[int]) -> int:
    """Last byte of a packet. Formula: exclusive or of the bytes before. Source: NMRA S-9.2 section B."""
    total = 0
    for byte in data:
        total ^= byte
    return total


def accessory_packet(at: Output, on: bool = True) -> bytes:
    """The three bytes that command an output.

    Formula: 10AAAAAA 1nnnCPPO EEEEEEEE; nnn is the ones' complement of address bits 6 to 8. Source: S-9.2.1
    section D.
    """
    first = 0x80 | at.decoder & 0x3F
    high = ~(at.decoder >> 6) & 0x07
    second = 0x80 | high << 4 | (0x08 if on else 0) | at.pair << 1 | at.output
    return bytes((first, second, first ^ second))


def read_accessory_packet(packet: Sequence[int]) -> Output:
    """The output that a basic accessory packet speaks to.

    Formula: `accessory_packet` backwards. Source: NMRA S-9.2.1 section D.
    Raises ValueError when the bytes are no basic accessory packet or the error byte is wrong.
    """
    if len(packet) != 3 or packet[0] >> 6 != 0b10 or not packet[1] & 0x80:
        raise ValueError("these bytes are no accessory packet")
    if error_byte(packet[:2]) != packet[2]:
        raise ValueError("the error byte does not fit the bytes before it")
    high = ~(packet[1] >> 4) & 0x07
    return Output(high << 6 | packet[0] & 0x3F, packet[1] >> 1 & 0x03, packet[1] & 1)


def bits(packet: Sequence[int], preamble: int = PREAMBLE) -> tuple[int, int]:
    """Ones and zeros of a packet on the rails.

    Formula: preamble ones, a zero ahead of each byte, a one at the end. Source: NMRA S-9.2 sections A and B.
    """
    ones = preamble + 1 + sum(bin(byte).count("1") for byte in packet)
    return ones, preamble + 1 + 9 * len(packet) - ones


def packet_time(packet: Sequence[int], preamble: int = PREAMBLE) -> float:
    """How long a packet lasts on the rails at nominal bits.

    Formula: ones x 116 us + zeros x 200 us. Units: s. Source: NMRA S-9.1 and S-9.2.
    """
    ones, zeros = bits(packet, preamble)
    return ones * ONE_BIT + zeros * ZERO_BIT
