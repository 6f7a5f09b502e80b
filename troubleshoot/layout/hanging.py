"""Whether the parts of a record hang together: islands, rings, and parts that nothing uses.

None of it contradicts anything: a yard may stand alone, and a booster may lie in the cupboard. But each is mostly a
line that was forgotten, so each becomes a note with its file and line. What cannot be true is refused in `checking`.
"""

from collections.abc import Iterator, Mapping

from troubleshoot.layout.building import Builder
from troubleshoot.layout.places import Part

_USERS: Mapping[str, tuple[tuple[tuple[str, str], ...], str]] = {
    "booster": ((("district", "booster"), ("detector", "booster")), "feeds no district"),
    "district": ((("block", "district"),), "has no block"),
    "detector": ((("block", "detector"), ("signal", "listens-to")), "watches no block"),
    "decoder": ((("turnout", "decoder"), ("signal", "driver")), "works no turnout and no signal"),
    "driver": ((("signal", "driver"),), "lights no signal"),
    "supply": (
        tuple((kind, "supply") for kind in ("booster", "detector", "decoder", "driver", "control-bus")),
        "feeds nothing",
    ),
}
"""Which parts name a kind of part and under which key, and what to say where none does."""

_MOST_NAMED = 3


def notes(built: Builder) -> Iterator[str]:
    """Every note, each with file and line."""
    parts = list(built.parts.values())
    yield from _unused(built, parts)
    yield from _islands(built, parts)
    yield from _rings(built, parts)
    yield from _lengths(built, parts)


def _at(built: Builder, part: Part, text: str) -> str:
    line = built.document.where((*built.paths[part.name], "@key"))[0]
    return f"{built.document.file}:{line}: {text}"


def _names(part: Part, key: str) -> tuple[str, ...]:
    return part.lists.get(key) or ((part.words[key],) if key in part.words else ())


def _unused(built: Builder, parts: list[Part]) -> Iterator[str]:
    kinds = {p.kind for p in parts}
    used = {(p.kind, key, n) for p in parts for key in ("booster", "district", "detector", "decoder", "driver",
            "supply", "listens-to") for n in _names(p, key)}  # fmt: skip
    for part in parts:
        if part.kind not in _USERS or part.owner is not None:
            continue
        users, text = _USERS[part.kind]
        there = any(kind in kinds for kind, _ in users)
        if there and not any((kind, key, part.name) in used for kind, key in users):
            yield _at(built, part, f"{part.name} {text}; name it where it belongs, or take it out")


def _islands(built: Builder, parts: list[Part]) -> Iterator[str]:
    """Blocks that no joint leads to from most of the others; only where the record gives joints at all."""
    leader = {p.name: p.name for p in parts if p.kind == "block"}

    def top(name: str) -> str:
        while leader[name] != name:
            leader[name] = leader[leader[name]]
            name = leader[name]
        return name

    joined = False
    for joint in (p for p in parts if p.kind == "joint"):
        sides = [s for s in joint.lists.get("between", ()) if s in leader]
        if len(sides) == 2:
            joined = True
            leader[top(sides[1])] = top(sides[0])
    groups: dict[str, list[str]] = {}
    for name in leader if joined else ():
        groups.setdefault(top(name), []).append(name)
    for group in sorted(groups.values(), key=lambda g: -len(g))[1:]:
        shown = ", ".join(group[:_MOST_NAMED]) + (" ..." if len(group) > _MOST_NAMED else "")
        whom = (
            f"{shown} is joined to no other block" if len(group) == 1 else f"{shown} are joined to none of the others"
        )
        yield _at(built, built.parts[group[0]], f"{whom}; add the joint that is missing, unless it stands alone")


def _rings(built: Builder, parts: list[Part]) -> Iterator[str]:
    """Signals that listen to each other in a ring, so that each may wait for the next."""
    heard = {
        p.name: [n for n in p.lists.get("listens-to", ()) if n in built.parts] for p in parts if p.kind == "signal"
    }
    state: dict[str, int] = {}  # 1 on the way, 2 done
    for start, first in heard.items():
        if state.get(start) == 2:
            continue
        trail: list[tuple[str, Iterator[str]]] = [(start, iter(first))]
        state[start] = 1
        while trail:
            name, rest = trail[-1]
            following = next((n for n in rest if n in heard and state.get(n) != 2), None)
            if following is None:
                state[name] = 2
                trail.pop()
            elif state.get(following) == 1:
                names = [n for n, _ in trail]
                ring = [*names[names.index(following) :], following]
                shown = " -> ".join(ring if len(ring) < 6 else [*ring[:3], "...", ring[-1]])
                text = f"signals listen to each other in a ring: {shown}; right only if one of them does not wait"
                yield _at(built, built.parts[following], text)
            else:
                state[following] = 1
                trail.append((following, iter(heard[following])))


def _lengths(built: Builder, parts: list[Part]) -> Iterator[str]:
    """A control bus whose stretches are longer together than the whole."""
    bus = built.parts.get("control bus")
    if bus is None or "length" not in bus.figures:
        return
    stretches = [p.figures["length"][0] for p in parts if p.kind == "control-bus-segment" and "length" in p.figures]
    whole = bus.figures["length"][0]
    if sum(stretches) > whole * 1.01:
        yield _at(
            built, bus, f"the segments of the control bus are {sum(stretches):g} m together, and it is {whole:g} m"
        )
