"""Which words an owner knows: engineers' words with what to say instead, words judged plain, and known short forms.

The lists are judgement (common practice of plain writing for the trade), short and open: a word is added when it is
met. What is done with them is left to `language`.
"""

from collections.abc import Mapping

JARGON: Mapping[str, str] = {
    "admittance": "how easily current passes",
    "amplitude": "size",
    "asymmetry": "more to one side than to the other",
    "attenuation": "weakening",
    "back-emf": "the volts that a turning motor makes",
    "baud": "speed of the messages",
    "bitmask": "a setting made of several yes and no",
    "capacitance": "what two long wires store between them",
    "capacitive": "through wires that lie side by side",
    "checksum": "check of a message",
    "common-mode": "on both wires alike",
    "crosstalk": "one wire heard in the other",
    "debounce": "waiting until a contact is still",
    "differential": "between two wires",
    "duty cycle": "share of the time that it is on",
    "electromagnetic": "from currents in wires nearby",
    "foldback": "gives less current instead of tripping",
    "galvanic": "by a wire",
    "galvanically": "by a wire",
    "half-wave": "only one half of the current",
    "handshake": "answer that each side waits for",
    "hexadecimal": "counted by sixteens",
    "hysteresis": "gap between switching on and off",
    "impedance": "how much a wire resists a changing current",
    "inductance": "how a long wire slows a changing current",
    "inductive": "with a coil",
    "inrush": "current of the first moment",
    "latch-up": "stuck until the power is off",
    "megohm": "million ohms",
    "megohms": "million ohms",
    "metastable": "undecided",
    "multiplexed": "lit one after the other",
    "multiplexing": "lighting one after the other",
    "opto-coupler": "part that passes a signal by light",
    "optocoupler": "part that passes a signal by light",
    "parasitic": "unwanted",
    "payload": "content of a message",
    "permittivity": "how well a material stores charge",
    "pull-down": "resistor that holds an input low",
    "pull-up": "resistor that holds an input high",
    "quiescent": "at rest",
    "reactance": "how much a wire resists a changing current",
    "residual-current": "cuts off when current leaks to earth",
    "ripple": "volts that rise and fall",
    "schottky": "diode that drops little",
    "slew": "how steep an edge is",
    "snubber": "filter of a resistor and a capacitor",
    "transient": "short peak",
    "tri-state": "left open",
    "waveform": "shape of the signal",
    "waveforms": "shapes of the signal",
    "zener": "diode that holds its volts",
}
"""An engineer's word, and what an owner would say for it."""

PLAIN = frozenset(
    {
        "address", "booster", "breaker", "bus", "capacitor", "consist", "cutout", "decoder", "detector", "diode",
        "district", "feeder", "ferrite", "filter", "firmware", "insulation", "interface", "kilohm", "milliamp",
        "module", "multimeter", "occupancy", "ohm", "oscilloscope", "packet", "phase", "polarity", "program",
        "rectifier", "relay", "resistor", "reverser", "servo", "solder", "stay-alive", "supply", "terminator",
        "throttle", "transformer", "transistor", "turnout", "volt", "watt",
    }
)  # fmt: skip
"""Words that look like engineers' words but stand in the leaflets of what owners buy; judged and left alone."""

KNOWN_SHORT = frozenset(
    {
        "AC", "DC", "DCC", "LED", "USB", "HO", "OO", "TT", "ID", "OK", "PC", "CV", "OL", "MIN", "MAX", "COM", "AWG",
        "MODE", "RANGE", "HOLD", "ON", "OFF", "STOP", "NMRA", "NEM",
    }
)  # fmt: skip
"""Short forms that stand on the parts, the meters and the boxes that owners buy, or are a standard's name."""

SPELLINGS: Mapping[str, str] = {
    "aluminium": "aluminum", "analogue": "analog", "behaviour": "behavior", "cancelled": "canceled",
    "catalogue": "catalog", "centimetre": "centimeter", "centimetres": "centimeters", "centre": "center",
    "centred": "centered", "colour": "color", "coloured": "colored", "colours": "colors", "earthed": "grounded",
    "favour": "favor", "fibre": "fiber", "fibres": "fibers", "grey": "gray", "labelled": "labeled", "metre": "meter",
    "metres": "meters", "millimetre": "millimeter", "millimetres": "millimeters", "mould": "mold",
    "moulded": "molded", "neighbour": "neighbor", "neighbouring": "neighboring", "neighbours": "neighbors",
    "plough": "plow", "railway": "railroad", "spanner": "wrench", "torch": "flashlight", "travelled": "traveled",
    "tyre": "tire", "tyres": "tires",
}  # fmt: skip
"""British and American forms of one word."""

BOTH_SIDES = frozenset({"meter", "meters", "plow"})
"""American forms that are British words as well, with another meaning; they show nothing."""

TAUTOLOGIES = (
    "AC current", "DC current", "LED diode", "LED diodes", "CV variable", "CV variables", "ID identification",
    "DCC control", "USB bus", "PC computer", "LED light", "LED lights", "volts voltage",
)  # fmt: skip
"""Short forms with the noun they already hold."""
