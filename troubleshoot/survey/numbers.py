"""Addresses and numbers: what answers to the same number, and what no command can reach."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import packets
from troubleshoot.layout import Part
from troubleshoot.survey.feeding import place
from troubleshoot.survey.site import Site
from troubleshoot.survey.spots import Kind, Look

KINDS: Mapping[str, Kind] = {
    "decoder-numbers-clash": Kind(
        sentence="Two decoders answer to the same turnout numbers",
        says="{place} and {other} both answer to {numbers}",
        formula="turnout numbers that two decoders answer to <= 0",
        unit="count",
        source="NMRA S-9.2.1 section D",
        cure="Give {place} an address that is free, and teach it that address",
        minutes=10,
        serious=0.0,
    ),
    "detector-numbers-clash": Kind(
        sentence="Two detectors report under the same numbers",
        says="{place} and {other} both report {numbers}",
        formula="report numbers that two detectors share <= 0",
        unit="count",
        source="arithmetic",
        cure="Set the address of {place} past the last zone of {other}",
        minutes=10,
        serious=0.0,
    ),
    "signal-number-clash": Kind(
        sentence="A signal obeys the number of a turnout or of another signal",
        says="{place} and {other} both obey number {numbers}",
        formula="things that obey the number of a signal <= 1",
        unit="count",
        source="NMRA S-9.2.1 section D",
        cure="Give {place} a number that is free",
        minutes=10,
        serious=1.5,
    ),
    "turnout-numbers-shared": Kind(
        sentence="Two turnouts on different decoders have one number",
        says="{place} and {other} both have number {numbers}, on different decoders",
        formula="decoders that throw a turnout on one number <= 1",
        unit="count",
        source="NMRA S-9.2.1 section D",
        cure="Give {place} a number that is free, unless both are meant to move together",
        minutes=10,
        gravest="weak",
    ),
    "number-out-of-reach": Kind(
        sentence="A turnout has a number that no command can reach",
        says="{place} has number {value}; counting as its decoder does, {limit} is the last that is not for all",
        formula="number <= 4 x (511 - numbering base)",
        unit="count",
        source="NMRA S-9.2.1 section D (511 is the address that all hear)",
        cure="Give {place} a number of {limit} or less",
        minutes=10,
        serious=1.0,
    ),
    "numbering-bases-mixed": Kind(
        sentence="Some decoders are counted from 0 and others from 1",
        says="{place} is counted from {value} and {others} others from {limit}. Numbers of the one kind lie four apart "
        "from those of the other",
        formula="ways of counting decoders <= 1",
        unit="count",
        source="arithmetic on NMRA S-9.2.1 section D",
        cure="Count all decoders in one way, and give {place} its number anew",
        minutes=15,
        gravest="weak",
    ),
}


def _some(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 0.0


def _more_than_one(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 1.0


def _reach(f: Mapping[str, float]) -> tuple[float, float]:
    return f["number"], float(packets.last_turnout(int(f["base"])))


def looks(site: Site) -> Iterator[Look]:
    """Every look at addresses and numbers."""
    yield from _overlaps(site, "decoder")
    yield from _overlaps(site, "detector")
    yield from _named_numbers(site)
    yield from _bases(site)


def _span(site: Site, part: Part) -> tuple[int, int] | None:
    """First and last number that a decoder or detector answers to or reports, if the record tells."""
    if "address" not in part.figures:
        return None
    address = int(part.figures["address"][0])
    if part.kind == "decoder":
        first = packets.turnout_of(address, 0, int(site.datum(part, "base").value))
        return first, first + int(site.datum(part, "outputs").value) - 1
    if "zones" not in part.figures:
        return None
    return address, address + int(part.figures["zones"][0]) - 1


def _overlaps(site: Site, kind: str) -> Iterator[Look]:
    """Parts whose runs of numbers overlap, each told at the later one; by order of the numbers, so linear."""
    spans = [(span, p) for p in site.all(kind) if (span := _span(site, p)) is not None]
    order = {p.name: n for n, (_, p) in enumerate(spans)}
    reach: tuple[int, Part] | None = None
    for (first, last), part in sorted(spans, key=lambda s: (s[0], order[s[1].name])):
        if reach is not None and first <= reach[0]:
            later, other = sorted((part, reach[1]), key=lambda p: -order[p.name])
            shared = min(last, reach[0]) - first + 1
            word = "turnout numbers" if kind == "decoder" else "report numbers"
            numbers = f"{word} {first} to {first + shared - 1}" if shared > 1 else f"{word[:-1]} {first}"
            count = {"count": site.count(shared, f"numbers that {part.name} and {reach[1].name} share")}
            tell = {"other": other.name, "numbers": numbers}
            yield Look(f"{kind}-numbers-clash", place(later), _some, count, tell)
        if reach is None or last > reach[0]:
            reach = (last, part)


def _named_numbers(site: Site) -> Iterator[Look]:
    """Turnouts and signals by the number that they obey."""
    taken: dict[int, Part] = {}
    for turnout in site.all("turnout"):
        if "number" not in turnout.figures:
            continue
        number = int(turnout.figures["number"][0])
        decoder = site.named(turnout.words.get("decoder"), "decoder")
        if decoder is not None:
            reach = {"number": site.datum(turnout, "number"), "base": site.datum(decoder, "base")}
            yield Look("number-out-of-reach", place(turnout), _reach, reach)
        other = taken.setdefault(number, turnout)
        if other is not turnout and other.words.get("decoder") != turnout.words.get("decoder"):
            yield _shared(site, "turnout-numbers-shared", turnout, other, number)
    for signal in site.all("signal"):
        if "address" in signal.figures:
            number = int(signal.figures["address"][0])
            other = taken.setdefault(number, signal)
            if other is not signal:
                yield _shared(site, "signal-number-clash", signal, other, number)


def _shared(site: Site, kind: str, part: Part, other: Part, number: int) -> Look:
    count = {"count": site.count(2, f"things on number {number}")}
    return Look(kind, place(part), _more_than_one, count, {"other": other.name, "numbers": str(number)})


def _bases(site: Site) -> Iterator[Look]:
    given = [(int(d.figures["base"][0]), d) for d in site.all("decoder") if "base" in d.figures]
    by_base = {base: [d for b, d in given if b == base] for base in (0, 1)}
    if by_base[0] and by_base[1]:
        few, many = sorted(by_base.values(), key=len)
        usual = int(many[0].figures["base"][0])
        for decoder in few:
            count = {"count": site.count(2, "ways of counting decoders")}
            tell = {"value": str(1 - usual), "limit": str(usual), "others": str(len(many))}
            yield Look("numbering-bases-mixed", place(decoder), _more_than_one, count, tell)
