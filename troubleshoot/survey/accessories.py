"""Turnout motors, their supplies, frogs and feedback, and the control bus: whether each gets what it needs."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import accessories, cables, waves
from troubleshoot.layout import Figure, Part
from troubleshoot.survey.feeding import place
from troubleshoot.survey.site import Data, Site
from troubleshoot.survey.spots import Datum, Kind, Look

KINDS: Mapping[str, Kind] = {
    "coil-outweighs-supply": Kind(
        sentence="One turnout coil draws more than its supply gives",
        says="A coil on {place} draws {value} for its pulse, and {place} gives {limit}",
        formula="volts of the supply / resistance of a coil <= limit of the supply, without a discharge unit",
        unit="A",
        source="Ohm's law",
        cure="Put a capacitor discharge unit between the supply and the coils",
        minutes=30,
        serious=1.5,
    ),
    "supply-overloaded": Kind(
        sentence="All that hangs on an accessory supply together draws more than it gives",
        says="{motors} slow motors, {servos} servos, {boards} boards and {heads} signal heads on {place} draw {value} "
        "at their busiest; {limit} leaves a fifth in hand",
        formula="motors + servos starting + boards + signal heads + control bus <= 0.8 x limit of the supply",
        unit="A",
        source="arithmetic; the fifth is common practice",
        cure="Move some boards to a supply of their own, and let servos start one after another",
        minutes=40,
        serious=1.25,
    ),
    "motor-volts-low": Kind(
        sentence="Slow turnout motors get too few volts",
        says="{place} gives {value}, and its slow motors want {limit} at least to hold their blades",
        formula="volts of the supply >= 9 V",
        unit="V",
        source="common practice",
        cure="Set the supply to 12 V if it can be set",
        minutes=10,
        fails="below",
        serious=1.5,
    ),
    "motors-share-supply": Kind(
        sentence="Coils or servos share a supply with detectors or signals",
        says="{place} feeds {motors} and also {others}. Each throw pulls its volts down for a moment",
        formula="kinds of load on a supply of coils or servos <= 1",
        unit="count",
        source="common practice",
        cure="Give the motors a supply of their own",
        minutes=30,
        gravest="weak",
    ),
    "decoder-on-track-power": Kind(
        sentence="A turnout decoder takes its power from the track that its turnouts lie in",
        says="{place} takes its power from {district}. A short under one of its turnouts cannot be thrown clear",
        formula="districts that both feed a decoder and hold its turnouts <= 0",
        unit="count",
        source="common practice",
        cure="Feed the decoder from an accessory supply, or at least from another district",
        minutes=30,
        gravest="remark",
    ),
    "coil-pulse-long": Kind(
        sentence="One pulse of a decoder heats a coil too much",
        says="A pulse of {pulse} warms a coil on {place} by {value}; more than {limit} a time adds up in play",
        formula="volts^2 / resistance x pulse / (copper x 385 J/kg K) <= 40 C",
        unit="K",
        source="textbook; the limit is an estimate",
        cure="Set the pulse of the decoder to 0.2 s",
        minutes=5,
        serious=4.0,
    ),
    "route-outruns-unit": Kind(
        sentence="A route throws coils faster than their discharge unit recovers",
        says="{place} throws {coils} coils on {decoders}, whose unit needs {value} to charge between them",
        formula="(coils - 1) x 3 x charging resistor x capacitor of the unit <= 4 s",
        unit="s",
        source="textbook; the limit is common practice",
        cure="Let the route wait longer between its coils",
        minutes=10,
        gravest="weak",
    ),
    "contact-too-dry": Kind(
        sentence="The current of a feedback contact is too small to keep it clean",
        says="The contact at {place} carries {value}; under {limit} a thin film stops it",
        formula="volts of the input / pull-up >= 0.2 mA",
        unit="A",
        source="Ohm's law; the limit is common practice (1 mA breaks film on silver)",
        cure="Put 4.7 kohm from the input to its supply beside the pull-up",
        minutes=15,
        fails="below",
        gravest="weak",
    ),
    "contact-wire-picks-up": Kind(
        sentence="A feedback wire is so long for its pull-up that it picks up the track signal",
        says="{place}, {length} behind {pull-up}, keeps a pulse for {value}; half a bit of the track lasts 58 us",
        formula="pull-up x capacitance of the wire <= half of a half-bit",
        unit="s",
        source="textbook; NMRA S-9.1 for the bit; the half is an estimate",
        cure="Put 4.7 kohm from the input to its supply beside the pull-up",
        minutes=15,
        gravest="weak",
    ),
    "frog-dead-too-long": Kind(
        sentence="An insulated frog is longer than the shortest loco can span",
        says="{place} is dead over {limit}, and the shortest wheelbase is {value}",
        formula="shortest wheelbase >= dead length of the frog",
        unit="m",
        source="common practice",
        cure="Feed the frog through a contact of its motor",
        minutes=30,
        fails="below",
        gravest="weak",
    ),
    "signal-trusts-command": Kind(
        sentence="A signal heeds a turnout that nothing proves",
        says="{signals} heed {place}, which reports nothing of its own. They clear though the blades hang half way",
        formula="signals that heed a turnout without feedback <= 0",
        unit="count",
        source="common practice",
        cure="Fit a contact that the blades themselves work",
        minutes=30,
        gravest="remark",
    ),
    "control-bus-drop": Kind(
        sentence="The control bus lifts the common of its last device too far",
        says="{devices} throttles and panels on {length} of {place} lift the common at its far end by {value}; "
        "{limit} already upsets a logic level",
        formula="half of 2 x ohms per metre x length x current of a device x (devices + 1) / 2 <= 0.8 V",
        unit="V",
        source="arithmetic (devices evenly along the cable); 0.8 V is a common logic level",
        cure="Feed the control bus in its middle, or use a spare pair of the cable beside the supply pair",
        minutes=30,
        serious=2.0,
    ),
}

_SECTION = {"servo": "servos", "stall": "slow motors", "coil": "coils"}


def _coil(f: Mapping[str, float]) -> tuple[float, float]:
    return accessories.coil_current(f["volts"], f["ohms"]), f["supply-limit"]


def _load(f: Mapping[str, float]) -> tuple[float, float]:
    drawn = sum(f[n] * f[each] for n, each in _EACH.items() if n in f)
    return drawn, 0.8 * f["supply-limit"]


_EACH = {
    "motors": "stall-current",
    "servos": "servo-current",
    "boards": "board-current",
    "heads": "head-current",
    "devices": "device-current",
}
"""What each of the things on a supply draws."""


def _volts(f: Mapping[str, float]) -> tuple[float, float]:
    return f["supply-volts"], 9.0


def _more_than_one(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 1.0


def _some(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 0.0


def _pulse(f: Mapping[str, float]) -> tuple[float, float]:
    return accessories.pulse_warming(f["volts"], f["ohms"], f["pulse"], f["coil-mass"]), 40.0


def _route(f: Mapping[str, float]) -> tuple[float, float]:
    return accessories.route_time(int(f["coils"]), f["charge-ohms"], f["storage"]), 4.0


def _wetting(f: Mapping[str, float]) -> tuple[float, float]:
    return accessories.wetting_current(f["volts"], f["pull-up"]), 2e-4


def _pickup(f: Mapping[str, float]) -> tuple[float, float]:
    farads = waves.cable_capacitance(f["wire-capacitance"], f["length"])
    return accessories.time_constant(f["pull-up"], farads), waves.ONE_HALF_BIT / 2.0


def _frog(f: Mapping[str, float]) -> tuple[float, float]:
    return f["wheelbase"], f["frog"]


def _control(f: Mapping[str, float]) -> tuple[float, float]:
    per_metre = cables.ohms_per_metre(f["area"])
    drop = accessories.cable_drop(per_metre, f["length"], f["devices"], f["device-current"])
    return accessories.common_shift(drop), 0.8


def looks(site: Site) -> Iterator[Look]:
    """Every look at accessories and the control bus."""
    for supply in site.all("supply"):
        yield from _supply(site, supply)
    for decoder in site.all("decoder"):
        yield from _decoder(site, decoder)
    for route in site.all("route"):
        yield from _coils_of(site, route)
    for turnout in site.all("turnout"):
        yield from _turnout(site, turnout)
    for bus in site.all("control-bus"):
        yield from _bus(site, bus)


def _motors(site: Site, decoders: list[Part], kind: str) -> list[Part]:
    """The turnouts of a kind of motor that decoders work."""
    return [t for d in decoders for t in site.users("turnout", "decoder", d.name) if site.word(t, "motor") == kind]


def _unit(site: Site, turnout: Part) -> bool:
    """Whether a discharge unit works the coil of a turnout."""
    decoder = site.named(turnout.words.get("decoder"), "decoder")
    return "yes" in (site.word(turnout, "discharge-unit"), site.word(decoder, "discharge-unit") if decoder else None)


def _supply(site: Site, supply: Part) -> Iterator[Look]:
    decoders = site.users("decoder", "supply", supply.name)
    drivers, boards = site.users("driver", "supply", supply.name), site.users("detector", "supply", supply.name)
    by_kind = {kind: _motors(site, decoders, kind) for kind in _SECTION}
    limit = site.datum(supply, "limit")
    bare = [m for t in by_kind["coil"] if not _unit(site, t) and (m := site.own(t.name, "motor"))]
    if bare:
        hungriest = min(bare, key=lambda m: (site.datum(m, "ohms").value, m.name))
        coil = {"volts": site.datum(supply, "volts"), "ohms": site.datum(hungriest, "ohms"), "supply-limit": limit}
        yield Look("coil-outweighs-supply", place(supply), _coil, coil)
    if by_kind["stall"]:
        yield Look("motor-volts-low", place(supply), _volts, {"supply-volts": site.datum(supply, "volts")})
    yield from _all_on(site, supply, {"motors": len(by_kind["stall"]), "servos": len(by_kind["servo"])}, limit)
    jerky = [f"{len(by_kind[k])} {_SECTION[k]}" for k in ("coil", "servo") if by_kind[k]]
    others = [f"{len(p)} {w}" for p, w in ((drivers, "signal drivers"), (boards, "detector boards")) if p]
    if jerky and others:
        count = {"count": site.count(1 + len(others), f"kinds of load on {supply.name}")}
        tell = {"motors": " and ".join(jerky), "others": " and ".join(others)}
        yield Look("motors-share-supply", place(supply), _more_than_one, count, tell)


def _all_on(site: Site, supply: Part, motors: Mapping[str, int], limit: Datum) -> Iterator[Look]:
    boards = sum(len(site.users(k, "supply", supply.name)) for k in ("decoder", "driver", "detector"))
    lit = [s for d in site.users("driver", "supply", supply.name) for s in site.users("signal", "driver", d.name)]
    heads = sum(site.datum(s, "heads").value for s in lit)
    buses = site.users("control-bus", "supply", supply.name)
    devices = _devices(site) if buses else 0
    if not boards and not devices:
        return
    names = {**motors, "boards": boards, "heads": heads}
    data: Data = {n: site.count(c, f"{n} on {supply.name}") for n, c in names.items()}
    data |= {each: site.trade(each) for n, each in _EACH.items() if n != "devices"}
    if devices:
        data["devices"] = site.count(devices, f"throttles and panels on {supply.name}")
        data["device-current"] = site.datum(buses[0], "device-current")
    yield Look("supply-overloaded", place(supply), _load, {**data, "supply-limit": limit})


def _decoder(site: Site, decoder: Part) -> Iterator[Look]:
    turnouts = site.users("turnout", "decoder", decoder.name)
    supply = site.named(decoder.words.get("supply"), "supply")
    bare = [
        m for t in turnouts if site.word(t, "motor") == "coil" and not _unit(site, t)
        if (m := site.own(t.name, "motor"))
    ]  # fmt: skip
    if bare and supply is not None:
        hungriest = min(bare, key=lambda m: (site.datum(m, "ohms").value, m.name))
        data = {
            "volts": site.datum(supply, "volts"),
            "ohms": site.datum(hungriest, "ohms"),
            "pulse": site.datum(decoder, "pulse"),
            "coil-mass": site.trade("coil-mass"),
        }
        yield Look("coil-pulse-long", place(decoder), _pulse, data)
    if decoder.words.get("supply") == "track":
        homes = [b.words["district"] for t in turnouts if (b := site.named(t.words.get("block"), "block"))
                 and "district" in b.words]  # fmt: skip
        if homes:
            count = {"count": site.count(1, f"districts behind {decoder.name}")}
            yield Look("decoder-on-track-power", place(decoder), _some, count, {"district": homes[0]})


def _coils_of(site: Site, route: Part) -> Iterator[Look]:
    """The coils of a route that one discharge unit works: those of one supply count together."""
    groups: dict[str, list[Part]] = {}
    for name in route.lists.get("turnouts", ()):
        turnout = site.named(name, "turnout")
        decoder = site.named(turnout.words.get("decoder"), "decoder") if turnout else None
        if turnout and decoder and site.word(turnout, "motor") == "coil" and _unit(site, turnout):
            groups.setdefault(decoder.words.get("supply", decoder.name), []).append(decoder)
    for decoders in groups.values():
        if len(decoders) > 1:
            data = {
                "coils": site.count(len(decoders), f"coils of {route.name}"),
                "charge-ohms": site.datum(decoders[0], "charge-ohms"),
                "storage": site.datum(decoders[0], "storage"),
            }
            named = ", ".join(dict.fromkeys(d.name for d in decoders))
            yield Look("route-outruns-unit", place(route), _route, data, {"decoders": named})


def _turnout(site: Site, turnout: Part) -> Iterator[Look]:
    frog, entry, wire = (site.own(turnout.name, k) for k in ("frog", "input", "field-wire"))
    if frog is not None and site.word(turnout, "frog") == "insulated":
        data = {"wheelbase": site.stock("shortest-wheelbase"), "frog": site.datum(frog, "length")}
        yield Look("frog-dead-too-long", place(frog), _frog, data)
    feedback = site.word(turnout, "feedback")
    if feedback == "contact" and entry is not None:
        pull_up = site.datum(entry, "pull-up")
        wetting = {"volts": site.datum(entry, "volts"), "pull-up": pull_up}
        yield Look("contact-too-dry", place(entry), _wetting, wetting)
        if wire is not None:
            length = site.datum(wire, "length")
            lead = {"pull-up": pull_up, "length": length, "wire-capacitance": site.trade("wire-capacitance")}
            yield Look("contact-wire-picks-up", place(wire), _pickup, lead)
    heeding = site.users("signal", "listens-to", turnout.name) if feedback in ("none", "computed") else []
    if heeding:
        count = {"count": site.count(len(heeding), f"signals that heed {turnout.name}")}
        names = ", ".join(s.name for s in heeding[:4]) + (" ..." if len(heeding) > 4 else "")
        yield Look("signal-trusts-command", place(turnout), _some, count, {"signals": names})


def _devices(site: Site) -> int:
    return len(site.of_kind.get("throttle", ())) + len(site.of_kind.get("panel", ()))


def _length(site: Site, bus: Part) -> Datum:
    """The length of the control bus: as given, or that of its segments together where each of them is given."""
    segments = [s.figures.get("length") for s in site.all("control-bus-segment")]
    if not site.given(bus, "length") and segments and all(segments):
        whole = sum(s[0] for s in segments if s)
        return Datum(Figure(whole, "m", False, "length of all segments of the control bus"), whole, whole)
    return site.datum(bus, "length")


def _bus(site: Site, bus: Part) -> Iterator[Look]:
    devices = _devices(site)
    if devices:
        data = {
            "length": _length(site, bus),
            "area": site.datum(bus, "area"),
            "devices": site.count(devices, "throttles and panels"),
            "device-current": site.datum(bus, "device-current"),
        }
        yield Look("control-bus-drop", place(bus), _control, data)
