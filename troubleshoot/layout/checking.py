"""Whether the parts of a record agree with each other: references, zones, turnout numbers, joints, inputs.

What cannot be true is refused, with the likely repair. What is only unwise (a breaker that trips above its
booster's limit, two decoders on one address) is no contradiction: it is a weak spot, left to be judged
elsewhere; a few such things that matter to reading the record become notes.
"""

from collections.abc import Iterator, Mapping, Sequence

from troubleshoot.documents import Trail, nearest
from troubleshoot.layout import hanging
from troubleshoot.layout.building import SECTIONS, Builder
from troubleshoot.layout.places import Part

_SECTION_OF = {kind: section for section, kind in SECTIONS.items()}
_OUTPUTS_PER_ADDRESS = 4  # NMRA S-9.2.1 section D: two bits of a packet name one of four pairs
_LAST_ADDRESS = 510  # 511 is the broadcast pattern (S-9.2.1 section D)
REFERENCES: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("booster", "supply"): ("supply",),
    ("district", "booster"): ("booster",),
    ("plug", "between"): ("board",),
    ("duct", "boards"): ("board",),
    ("detector", "booster"): ("booster",),
    ("detector", "supply"): ("supply",),
    ("detector", "board"): ("board",),
    ("block", "district"): ("district",),
    ("block", "detector"): ("detector",),
    ("block", "board"): ("board",),
    ("feeder", "duct"): ("duct",),
    ("feeder", "plug"): ("plug",),
    ("joint", "between"): ("block",),
    ("decoder", "supply"): ("supply",),
    ("decoder", "board"): ("board",),
    ("driver", "supply"): ("supply",),
    ("driver", "board"): ("board",),
    ("turnout", "decoder"): ("decoder",),
    ("turnout", "block"): ("block",),
    ("turnout", "board"): ("board",),
    ("route", "turnouts"): ("turnout",),
    ("route", "blocks"): ("block",),
    ("signal", "driver"): ("driver", "decoder"),
    ("signal", "block"): ("block",),
    ("signal", "listens-to"): ("block", "turnout", "signal", "detector"),
    ("control-bus", "supply"): ("supply",),
}
"""Which kinds of part a key must name."""


def check_parts(built: Builder) -> tuple[str, ...]:
    """Note every contradiction with the builder; the notes returned refuse nothing."""
    for part in list(built.parts.values()):
        for (kind, key), wanted in REFERENCES.items():
            if part.kind == kind:
                _references(built, part, key, wanted)
    _districts(built)
    _zones(built)
    _joints(built)
    _turnout_numbers(built)
    _inputs(built)
    _ends(built)
    return (*_notes(built), *hanging.notes(built))


def _of(built: Builder, kind: str) -> Iterator[Part]:
    return (p for p in built.parts.values() if p.kind == kind)


def _path(built: Builder, part: Part, *more: str) -> Trail:
    return (*built.paths[part.name], *more)


def _references(built: Builder, part: Part, key: str, wanted: Sequence[str]) -> None:
    listed = part.lists.get(key)
    said = listed if listed is not None else tuple(w for w in [part.words.get(key)] if w is not None)
    own_name = key == "between" and part.kind == "joint" and built.at((*built.paths[part.name], key)) is None
    for index, name in enumerate(said):
        if name == "track" and (part.kind, key) == ("decoder", "supply"):
            continue
        target = built.parts.get(name)
        if target is not None and target.kind in wanted:
            continue
        path = _path(built, part) if own_name else (*_path(built, part, key), *((index,) if listed is not None else ()))
        built.say(
            (*path, "@key") if own_name else path,
            f"{part.name}: {key} {_no_such(built, name, target, wanted)}",
        )


def _no_such(built: Builder, name: str, target: Part | None, wanted: Sequence[str]) -> str:
    sections = " or ".join(_SECTION_OF[k] for k in wanted)
    if target is not None:
        return f"{name!r} is a {target.kind.replace('-', ' ')}, not a {' or '.join(wanted)}"
    known = [p.name for k in wanted for p in _of(built, k)]
    hint = nearest(name, known)
    if hint:
        return f"{name!r} is not under {sections}; did you mean {hint!r}?"
    if not known:
        return f"{name!r} is not known; add it under {sections}, or leave this out"
    return f"{name!r} is not under {sections}; add it there, or name one of {_some(known)}"


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:4]) + (", ..." if len(names) > 4 else "")


def _districts(built: Builder) -> None:
    boosters = [p.name for p in _of(built, "booster")]
    for district in _of(built, "district") if boosters else ():
        if "booster" not in district.words:
            fit = boosters[0] if len(boosters) == 1 else "one of " + _some(boosters)
            built.say(
                _path(built, district, "@key"),
                f"{district.name}: is on no booster; say which one feeds it: booster: {fit}",
            )


def _zones(built: Builder) -> None:
    taken: dict[tuple[str, str], str] = {}
    watched: dict[str, int] = {}
    for block in _of(built, "block"):
        zone, name = block.words.get("zone"), block.words.get("detector")
        if zone is not None and name is None:
            built.say(
                _path(built, block, "zone"),
                f"{block.name}: has zone {zone} but no detector; add detector: its name",
            )
        detector = built.parts.get(name or "")
        if detector is None or detector.kind != "detector":
            continue
        count = detector.figures.get("zones", (0.0, ""))[0]
        watched[detector.name] = watched.get(detector.name, 0) + 1
        if zone is None:
            if 0 < count < watched[detector.name]:
                nth = f"block {watched[detector.name]} of {detector.name}, which has {count:.0f} zones"
                text = f"{block.name}: is {nth}; name another detector, or mend its zones"
                built.say(_path(built, block, "detector"), text)
            continue
        _one_zone(built, block, detector, zone, taken)


def _one_zone(built: Builder, block: Part, detector: Part, zone: str, taken: dict[tuple[str, str], str]) -> None:
    count = detector.figures.get("zones", (0.0, ""))[0]
    number = int(zone) if zone.isdigit() else 0
    if number < 1:
        text = f"{block.name}: zone {zone!r} is no zone number; write 1 or more"
        built.say(_path(built, block, "zone"), text)
    elif 0 < count < number:
        text = f"{block.name}: zone {zone} is beyond {detector.name}, which has {count:.0f} zones"
        built.say(_path(built, block, "zone"), f"{text}; give a zone from 1 to {count:.0f}, or mend zones there")
    other = taken.setdefault((detector.name, zone), block.name)
    if other != block.name:
        line = built.document.where(_path(built, built.parts[other], "zone"))[0]
        text = f"{block.name}: zone {zone} of {detector.name} is already that of {other} in line {line}"
        built.say(_path(built, block, "zone"), f"{text}; {_free(built, detector)}")


def _free(built: Builder, detector: Part) -> str:
    count = int(detector.figures.get("zones", (16.0, ""))[0])
    used = {b.words.get("zone") for b in _of(built, "block") if b.words.get("detector") == detector.name}
    free = [str(n) for n in range(1, count + 1) if str(n) not in used]
    return f"free there: {_some(free)}" if free else "no zone is free there; name another detector"


def _joints(built: Builder) -> None:
    seen: dict[frozenset[str], str] = {}
    for joint in _of(built, "joint"):
        sides = joint.lists.get("between", ())
        given = built.at(_path(built, joint, "between")) is not None
        path = _path(built, joint, "between" if given else "@key")
        if len(sides) != 2 or sides[0] == sides[1]:
            fit = "name it 'west/east' or add between: [west, east]"
            built.say(path, f"{joint.name}: a joint lies between two blocks; {fit}")
            continue
        other = seen.setdefault(frozenset(sides), joint.name)
        if other != joint.name and "/" in joint.name and "/" in other:
            text = f"{joint.name}: is the joint {other} written the other way round; keep one"
            built.say(path, f"{text}, or give both names of their own with between: [{sides[0]}, {sides[1]}]")


def _turnout_numbers(built: Builder) -> None:
    for decoder in _of(built, "decoder"):
        address, base = _figure(decoder, "address"), _figure(decoder, "base", 1)
        if address is not None and not (base or 0) <= address <= _LAST_ADDRESS:
            text = f"{decoder.name}: address {address} cannot be, counting from {base}"
            run = f"addresses run from {base} to {_LAST_ADDRESS}"
            built.say(_path(built, decoder, "address"), f"{text}; {run}. Give it one of these, or mend the base")
    for turnout in _of(built, "turnout"):
        owner = built.parts.get(turnout.words.get("decoder", ""))
        if owner is not None and owner.kind == "decoder":
            _number_on(built, turnout, owner)


def _figure(part: Part, name: str, default: int | None = None) -> int | None:
    return int(part.figures[name][0]) if name in part.figures else default


def _number_on(built: Builder, turnout: Part, decoder: Part) -> None:
    outputs = _figure(decoder, "outputs", _OUTPUTS_PER_ADDRESS) or _OUTPUTS_PER_ADDRESS
    base = _figure(decoder, "base", 1) or 0
    address, number = _figure(decoder, "address"), _figure(turnout, "number")
    output = _figure(turnout, "output")
    if output is not None and output > outputs:
        text = f"{turnout.name}: output {output} is beyond {decoder.name}, which has {outputs}"
        built.say(_path(built, turnout, "output"), f"{text}; give 1 to {outputs}, or mend outputs there")
        return
    if address is None or number is None:
        return
    first = _OUTPUTS_PER_ADDRESS * (address - base) + 1
    counted = f"{decoder.name} (address {address}, counting from {base})"
    if not first <= number < first + outputs:
        span = f"{first} to {first + outputs - 1}" if outputs > 1 else f"{first}"
        fits = (number - 1) // _OUTPUTS_PER_ADDRESS + base
        text = f"{turnout.name}: number {number} cannot be on {counted}, which has {span}"
        built.say(
            _path(built, turnout, "number"),
            f"{text}; give one of these, or put it on the decoder with address {fits}"
            + ("" if "base" in decoder.figures else f", or mend the base of {decoder.name}"),
        )
    elif output is not None and number != first + output - 1:
        text = f"{turnout.name}: output {output} of {counted} has number {first + output - 1}, not {number}"
        built.say(
            _path(built, turnout, "output"),
            f"{text}; mend the one or the other (output {number - first + 1} fits)",
        )


def _inputs(built: Builder) -> None:
    taken: dict[str, Part] = {}
    for part in _of(built, "input"):
        number = part.words.get("input")
        if number is None:
            continue
        other = taken.setdefault(number, part)
        if other is not part:
            line = built.document.where(_path(built, other, "input"))[0]
            text = f"{part.owner}: input {number} is already that of {other.owner} in line {line}"
            built.say(_path(built, part, "input"), f"{text}; give each contact an input of its own")


def _ends(built: Builder) -> None:
    """What has two ends has two different ones, and nothing listens to itself."""
    for plug in _of(built, "plug"):
        boards = plug.lists.get("between", ())
        if boards and (len(boards) != 2 or boards[0] == boards[1]):
            text = f"{plug.name}: a plug lies between two boards; write between: [west-board, east-board]"
            built.say(_path(built, plug, "between"), text)
    for signal in _of(built, "signal"):
        if signal.name in signal.lists.get("listens-to", ()):
            text = f"{signal.name}: listens to itself, so it never clears; name the next signal, or leave it out"
            built.say(_path(built, signal, "listens-to"), text)


def _notes(built: Builder) -> Iterator[str]:
    for block in _of(built, "block"):
        detector = built.parts.get(block.words.get("detector", ""))
        district = built.parts.get(block.words.get("district", ""))
        if detector is None or district is None:
            continue
        theirs, ours = detector.words.get("booster"), district.words.get("booster")
        if theirs and ours and theirs != ours:
            line = built.document.where(built.paths[block.name])[0]
            fed = f"{block.name} is fed by {ours}, but its detector {detector.name} by {theirs}"
            yield f"{built.document.file}:{line}: {fed}; right only if each of its zones stands alone"
