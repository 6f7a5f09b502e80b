"""From a record file to parts: figures into SI, and the places that go without saying.

A district has a breaker and a bus, a block a feeder and a zone, a turnout a motor, a contact, an input, a
field wire and a frog; devices have settings, and a supply of their own if the record names none. The
builder takes a file that is wrong in places, so that everything wrong with it can be told at once; form is
judged by `shapes`, and whether the parts agree with each other by `checking`.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from troubleshoot.documents import Document, Problem, Trail
from troubleshoot.layout.defaults import FIGURES
from troubleshoot.layout.places import Part
from troubleshoot.quantities import Unreadable, read_figure, show

SECTIONS: Mapping[str, str] = {
    "supplies": "supply", "boosters": "booster", "districts": "district", "boards": "board", "plugs": "plug",
    "ducts": "duct", "detectors": "detector", "blocks": "block", "joints": "joint", "decoders": "decoder",
    "turnouts": "turnout", "routes": "route", "drivers": "driver", "signals": "signal",
}  # fmt: skip
"""Sections of a record and the kind of place that each names."""

_CALLED = {"wire": "area", "bandwidth": "meter-bandwidth"}
_NAME = re.compile(r"[^\W_](?:[\w.-]*\w)?(?:/[^\W_](?:[\w.-]*\w)?)?")
_OHM_PER_METRE = re.compile(r"(.*\S)\s*/\s*m")


class Builder:
    """Parts of one record, where each stands in the file, and what is wrong so far."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.parts: dict[str, Part] = {}
        self.paths: dict[str, Trail] = {}
        self.problems: list[Problem] = []
        data = document.data if isinstance(document.data, dict) else {}
        self.data: Mapping[str, Any] = data
        self.name = str(data.get("name") or "the layout")
        self._layout()
        for section, kind in SECTIONS.items():
            for name, entry in self._entries((section,)):
                getattr(self, f"_{kind}", self._plain)(kind, name, entry, (section, name))
        self._control_bus()
        self.add(Part("program", "computer program"), ())
        self.add(Part("building", "building"), ())

    # -- small things ---------------------------------------------------------------------------------------

    def say(self, path: Trail, text: str) -> None:
        """Note a problem at a path."""
        self.problems.append(self.document.problem(path, text))

    def at(self, path: Trail) -> Any:
        """The value at a path, or None."""
        value: Any = self.data
        for step in path:
            value = value.get(step) if isinstance(value, dict) else None
        return value

    def _entries(self, path: Trail) -> Iterator[tuple[str, Mapping[str, Any]]]:
        section = self.at(path)
        for name, entry in section.items() if isinstance(section, dict) else ():
            if not _NAME.fullmatch(name) or (("/" in name) != (path == ("joints",)) and "/" in name):
                fit = re.sub(r"[^\w.]+", "-", name).strip("-_.") or "west-1"
                self.say(
                    (*path, name, "@key"),
                    f"{name!r} is no name; write it in letters, figures and hyphens: {fit!r}",
                )
                continue
            yield name, entry if isinstance(entry, dict) else {}

    def add(self, part: Part, path: Trail) -> None:
        """Take in a part; one name stands for one place in the whole record."""
        if part.name in self.parts:
            other = self.parts[part.name]
            line = self.document.where(self.paths[part.name])[0]
            what = f"the {other.kind.replace('-', ' ')} in line {line}"
            fit = f"{part.kind}-{part.name}"
            self.say(
                (*path, "@key"),
                f"{part.name!r} is already the name of {what}; every place needs a name of its own: "
                f"call this one {fit!r} or the like",
            )
            return
        self.parts[part.name] = part
        self.paths[part.name] = path

    def figures(self, kind: str, entry: Mapping[str, Any], path: Trail) -> dict[str, tuple[float, str]]:
        """The figures of an entry that the kind may have, in SI; each that cannot be so is noted."""
        found: dict[str, tuple[float, str]] = {}
        for key, said in entry.items():
            name = _CALLED.get(key, key)
            spec = FIGURES.get(kind, {}).get(name)
            if spec is None or said is None or isinstance(said, dict | list):
                continue
            what = "".join(f"{step}: " for step in path[1:] if isinstance(step, str))
            try:
                value = _read(said, spec.unit)
            except Unreadable as error:
                self.say((*path, key), f"{what}{key}: {error.reason}")
                continue
            if spec.least <= value <= spec.most:
                found[name] = (value, spec.unit)
            else:
                limits = f"{_show(spec.least, spec.unit)} to {_show(spec.most, spec.unit)}"
                self.say(
                    (*path, key),
                    f"{what}{key}: {said} cannot be; {spec.phrase} goes from {limits}. Is the unit right?",
                )
        return found

    def words(self, kind: str, entry: Mapping[str, Any]) -> dict[str, str]:
        """The single words of an entry, figures left out."""
        figures = FIGURES.get(kind, {})
        plain = {k: v for k, v in entry.items() if _CALLED.get(k, k) not in figures}
        return {k: str(v) for k, v in plain.items() if isinstance(v, str | int | float)}

    def lists(self, entry: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
        """The lists of names of an entry."""
        kept = {k: v for k, v in entry.items() if isinstance(v, list)}
        return {k: tuple(str(x) for x in v if isinstance(x, str | int)) for k, v in kept.items()}

    def _plain(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        self.add(
            Part(kind, name, self.figures(kind, entry, path), self.words(kind, entry), self.lists(entry)),
            path,
        )

    def _own(self, kind: str, owner: str, path: Trail, entry: Mapping[str, Any] | None = None, **words: Any) -> None:
        """A place that belongs to another: `yard-2 feeder`."""
        said = {
            **self.words(kind, entry or {}),
            **{k: str(w) for k, w in words.items() if w is not None},
            "of": owner,
        }
        figures = self.figures(kind, entry or {}, path)
        self.add(Part(kind, f"{owner} {kind.replace('-', ' ')}", figures, said, self.lists(entry or {})), path)

    def _device(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        """A board with settings and a supply; a supply that is not named is still a place to look at."""
        self._plain(kind, name, entry, path)
        self._own("settings", name, path)
        if entry.get("supply") is None:
            self._own("supply", name, path)

    _booster = _detector = _decoder = _driver = _device

    # -- kinds that bring places with them ------------------------------------------------------------------

    def _district(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        said = entry.get("breaker") or ("fitted" if {"trip", "delay"} & set(entry) else None)
        own = {k: v for k, v in entry.items() if k not in ("trip", "delay", "bus", "breaker")}
        self._plain(kind, name, {**own, "breaker": said} if said else own, path)
        if said != "none":
            self._own("breaker", name, path, {k: entry[k] for k in ("trip", "delay") if k in entry})
        self._own("settings", name, path)
        bus = entry.get("bus")
        stretches = [s for s in bus if isinstance(s, dict)] if isinstance(bus, list) else []
        if not stretches:
            self._own("bus", name, (*path, "bus"), bus if isinstance(bus, dict) else None)
            return
        for number, stretch in enumerate(stretches, 1):
            at = (*path, "bus", number - 1)
            figures = self.figures("bus-segment", stretch, at)
            words = {**self.words("bus-segment", stretch), "of": name}
            self.add(Part("bus-segment", f"{name} bus {number}", figures, words), at)
        whole = _in_series([self.parts[f"{name} bus {n}"] for n in range(1, len(stretches) + 1)])
        self.add(Part("bus", f"{name} bus", whole, {"of": name}), (*path, "bus"))

    def _block(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        own = {k: v for k, v in entry.items() if k not in ("feeder", "joints")}
        self._plain(kind, name, own, path)
        feeder = entry.get("feeder")
        self._own("feeder", name, (*path, "feeder"), feeder if isinstance(feeder, dict) else None)
        if entry.get("detector") is not None:
            zone = entry.get("zone")
            self._own("zone", name, (*path, "zone"), number=zone)
        for index, accessory in enumerate(self.lists(own).get("accessories", ())):
            self.add(Part("accessory", accessory, words={"of": name}), (*path, "accessories", index))
        for index, joint in enumerate(self.lists(entry).get("joints", ())):
            if joint not in self.parts and not isinstance(self.at(("joints", joint)), dict):
                self._joint("joint", joint, {}, (*path, "joints", index))

    def _joint(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        if name in self.parts and self.parts[name].kind == "joint":  # listed at a block before
            return
        sides = entry.get("between") or name.split("/")
        self._plain(kind, name, {**entry, "between": sides}, path)

    def _turnout(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        feedback = entry.get("feedback")
        detail = feedback if isinstance(feedback, dict) else {}
        said = detail.get("kind", "contact") if isinstance(feedback, dict) else feedback
        own = {k: v for k, v in entry.items() if k not in ("feedback", "motor-ohms", "motor-current", "frog-length")}
        self._plain(kind, name, {**own, "feedback": said} if said else own, path)
        motor = {k: entry[f"motor-{k}"] for k in ("ohms", "current") if f"motor-{k}" in entry}
        self._own("motor", name, path, motor)
        if said != "none":
            self._own("contact", name, path)
            at = (*path, "feedback")
            self._own("input", name, at, {k: detail[k] for k in ("volts", "pull-up", "input") if k in detail})
            self._own("field-wire", name, at, {k: detail[k] for k in ("length",) if k in detail})
        self._own("frog", name, path, {"length": entry["frog-length"]} if "frog-length" in entry else None)

    def _route(self, kind: str, name: str, entry: Mapping[str, Any], path: Trail) -> None:
        turnouts = entry.get("turnouts")
        lies = [f"{t}: {v}" for t, v in turnouts.items()] if isinstance(turnouts, dict) else []
        more = {"turnouts": list(turnouts), "lies": lies} if isinstance(turnouts, dict) else {}
        self._plain(kind, name, {**entry, **more}, path)

    # -- the layout as a whole ------------------------------------------------------------------------------

    def _layout(self) -> None:
        kit = {k: v for k, v in self._mapping("kit").items() if k != "says"}
        stock = {k: v for k, v in self._mapping("stock").items() if k != "vehicles"}
        top = {k: v for k, v in self.data.items() if not isinstance(v, dict | list) and k != "control-bus"}
        figures = {
            **self.figures("layout", top, ()),
            **self.figures("layout", kit, ("kit",)),
            **self.figures("layout", stock, ("stock",)),
        }
        words = {**self.words("layout", kit), **self.words("layout", stock), **self.words("layout", top)}
        bus = self.at(("control-bus",))
        empty = [SECTIONS[s] for s in SECTIONS if self.data.get(s) == {}]
        empty += [k[:-1] for k in ("panels", "throttles") if self.at(("control-bus", k)) == {}]
        empty += ["interface"] if self.at(("control-bus", "interface")) in ("none", "no") else []
        empty += ["control-bus", "panel", "throttle", "interface"] if bus == "none" else []
        self.add(Part("layout", self.name, figures, words, {"without": tuple(empty)}), ())
        for name, entry in self._entries(("stock", "vehicles")):
            self._plain("vehicle", name, entry, ("stock", "vehicles", name))
            self._own("settings", name, ("stock", "vehicles", name))

    def _mapping(self, key: str) -> Mapping[str, Any]:
        value = self.data.get(key)
        return value if isinstance(value, dict) else {}

    def _control_bus(self) -> None:
        path: Trail = ("control-bus",)
        entry = self._mapping("control-bus")
        if not entry:
            return
        own = {k: v for k, v in entry.items() if k not in ("interface", "segments", "panels", "throttles")}
        self._plain("control-bus", "control bus", own, path)
        self._own("settings", "control bus", path)
        if entry.get("supply") is None:
            self._own("supply", "control bus", path)
        interface = entry.get("interface")
        if isinstance(interface, str) and interface not in ("none", "no", "unknown"):
            named = "computer interface" if interface == "yes" else interface
            self.add(Part("interface", named), (*path, "interface"))
        for key, kind in (
            ("segments", "control-bus-segment"),
            ("panels", "panel"),
            ("throttles", "throttle"),
        ):
            for name, part in self._entries((*path, key)):
                self._plain(kind, name, part, (*path, key, name))


def _read(said: str | float, unit: str) -> float:
    """A figure of a record in SI. Raises Unreadable."""
    if unit == "count":
        if isinstance(said, int):
            return float(said)
        raise Unreadable(f"{said!r} is no whole number; write such as 4")
    if unit == "ohm/m":
        whole = _OHM_PER_METRE.fullmatch(str(said))
        if not whole:
            raise Unreadable(f"{said!r} is no resistance of a length; write such as '0.1 ohm/m'")
        return read_figure(whole[1], "ohm")
    return read_figure(said, unit)


def _show(value: float, unit: str) -> str:
    if unit == "m2":
        return f"{value * 1e6:g} mm2"
    if unit in ("ohm/m", "F/m"):
        return f"{value:g} ohm/m" if unit == "ohm/m" else f"{value * 1e12:g} pF/m"
    return show(value, unit)


def _in_series(stretches: list[Part]) -> dict[str, tuple[float, str]]:
    """One length and one wire with the resistance of all the stretches; only where all are given."""
    lengths = [s.figures["length"][0] for s in stretches if "length" in s.figures]
    if len(lengths) < len(stretches):
        return {}
    areas = [s.figures.get("area", (FIGURES["bus-segment"]["area"].assumed(None) or 1.0, "m2"))[0] for s in stretches]
    whole: dict[str, tuple[float, str]] = {"length": (sum(lengths), "m")}
    if all("area" in s.figures for s in stretches):
        whole["area"] = (sum(lengths) / sum(n / a for n, a in zip(lengths, areas, strict=True)), "m2")
    return whole
