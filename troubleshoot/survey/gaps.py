"""Joints between blocks, and reversing sections: gaps that close, sections too short, sides that do not part."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import cables, power, wheels
from troubleshoot.layout import Figure, Part
from troubleshoot.survey.feeding import place
from troubleshoot.survey.site import Site
from troubleshoot.survey.spots import Datum, Kind, Look

KINDS: Mapping[str, Kind] = {
    "gap-closes-in-summer": Kind(
        sentence="A gap is narrower than what heat and dry air close",
        says="{place} is {gap} wide. Over {length} of rail, {warming} of warming and dry air close {value}",
        formula="17e-6 x rail x warming + 2e-5 x rail x fall of the humidity (on wood) <= width of the gap",
        unit="m",
        source="materials handbooks; the plywood figure is common practice",
        cure="Glue a thin insulating spacer into the gap, or widen it by a saw cut",
        minutes=15,
        gravest="weak",
    ),
    "gap-too-narrow": Kind(
        sentence="A gap is so narrow that a burr or a crumb bridges it",
        says="{place} is {value} wide. Under {limit} a burr, a crumb of metal or a wheel's own spark bridges it",
        formula="width of the gap >= 0.4 mm in HO, other scales by their gauge",
        unit="m",
        source="common practice",
        cure="Widen the gap by a saw cut and glue in an insulating spacer",
        minutes=15,
        fails="below",
        serious=4.0,
    ),
    "gaps-not-opposite": Kind(
        sentence="The gaps in the two rails of a joint are not opposite each other",
        says="The two gaps of {place} stand {value} apart. Over {limit} a length of track belongs to both blocks",
        formula="offset of the two gaps <= 1 mm in HO, other scales by their gauge",
        unit="m",
        source="common practice",
        cure="Cut one gap anew opposite the other, and bridge the old one by a soldered wire",
        minutes=30,
        serious=5.0,
    ),
    "joint-not-insulated": Kind(
        sentence="A joint between two zones or districts is not insulated",
        says="{place} is not insulated, though it parts {parts}. Each shows and trips with the other",
        formula="zones or districts that meet at a joint without insulation <= 1",
        unit="count",
        source="common practice",
        cure="Cut the rail there and glue in an insulating spacer",
        minutes=20,
        serious=1.5,
    ),
    "section-too-short": Kind(
        sentence="A reversing section is shorter than the longest train that conducts",
        says="{place} is {limit} long, and {train} wants {value}. "
        "With wheels over both ends at once the section shorts whichever way it is turned",
        formula="longest conducting train + longest bogie + gap <= length of the section",
        unit="m",
        source="common practice",
        cure="Run only trains of up to {limit} through it, or give the last cars insulated wheels on one side",
        minutes=20,
        serious=1.15,
    ),
    "section-without-reverser": Kind(
        sentence="A reversing section is turned by hand",
        says="{place} has no reverser, so every train through it trips unless somebody has turned it in time",
        formula="reversing sections without a reverser <= 0",
        unit="count",
        source="common practice",
        cure="Fit a reverser, or couple the switch of the section to the turnout that leads into it",
        minutes=45,
        gravest="remark",
    ),
    "reversers-meet": Kind(
        sentence="Two reversing sections with reversers share a joint",
        says="At {place} two reversers meet. Each answers the turning of the other, and neither comes to rest",
        formula="reversers at one joint <= 1",
        unit="count",
        source="common practice",
        cure="Let one reverser turn both sections, or keep a plain block between them",
        minutes=45,
        gravest="weak",
    ),
}


def _closing(f: Mapping[str, float]) -> tuple[float, float]:
    return cables.gap_closing(f["length"], f["warming"], f["wood"] * f["drying"]), f["gap"]


def _width(f: Mapping[str, float]) -> tuple[float, float]:
    return f["gap"], f["least"]


def _offset(f: Mapping[str, float]) -> tuple[float, float]:
    return f["offset"], f["most"]


def _more_than_one(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 1.0


def _more_than_none(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 0.0


def _section(f: Mapping[str, float]) -> tuple[float, float]:
    return power.least_section(f["longest"], f["bogie"], f["gap"]), f["section"]


def looks(site: Site) -> Iterator[Look]:
    """Every look at joints and reversing sections."""
    for joint in site.all("joint"):
        sides = site.sides(joint)
        if sides is not None:
            yield from _gap(site, joint, sides)
            yield from _parting(site, joint, sides)
    for block in site.all("block"):
        if site.word(block, "reversing") == "yes":
            yield from _turning(site, block)


def _by_scale(site: Site, value: float, said: str) -> Datum:
    """A length that is common practice for a scale; the range takes in the scales beside an unknown one."""
    scale = site.layout.scale
    figure = Figure(value, "m", scale is None, f"{said} in {scale or 'HO'}")
    return Datum(figure, value, value) if scale else Datum(figure, value * 0.6, value * 1.5)


def _gap(site: Site, joint: Part, sides: tuple[Part, Part]) -> Iterator[Look]:
    if site.word(joint, "insulated") == "no":
        return
    gap, scale = site.datum(joint, "gap"), site.layout.scale or "HO"
    yield Look(
        "gap-too-narrow", place(joint), _width,
        {"gap": gap, "least": _by_scale(site, wheels.least_gap(scale), "least width of a gap")},
    )  # fmt: skip
    longest = max(sides, key=lambda b: (site.datum(b, "length").value, b.name))
    words = {"wood": 1.0, "foam": 0.0, "metal": 0.0, "plastic": 0.0, "other": 0.0}
    base = site.word(longest, "material")
    if base is not None:
        wood = site.count(float("wood" in base or "ply" in base), f"material of {longest.name}: {base}")
    else:
        wood = site.choice(longest, "material", words, "other", "material of the base")
    data = {
        "gap": gap,
        "length": site.datum(longest, "length"),
        "warming": site.trade("warming"),
        "wood": wood,
        "drying": site.trade("drying"),
    }
    yield Look("gap-closes-in-summer", place(joint), _closing, data)
    if site.given(joint, "offset"):
        most = _by_scale(site, wheels.most_stagger(scale), "greatest offset of gaps")
        yield Look("gaps-not-opposite", place(joint), _offset, {"offset": site.datum(joint, "offset"), "most": most})


def _parting(site: Site, joint: Part, sides: tuple[Part, Part]) -> Iterator[Look]:
    first, second = sides
    if site.word(joint, "insulated") == "no":
        for key in ("district", "detector"):
            if first.words.get(key) != second.words.get(key) or (key == "detector" and key in first.words):
                parts = f"{first.name} and {second.name}"
                data = {"count": site.count(2, f"sides of {joint.name}")}
                yield Look("joint-not-insulated", place(joint), _more_than_one, data, {"parts": parts})
                break
    if all(site.word(s, "reversing") == "yes" and site.word(s, "reverser") == "yes" for s in sides):
        yield Look("reversers-meet", place(joint), _more_than_one, {"count": site.count(2, f"sides of {joint.name}")})


def _turning(site: Site, block: Part) -> Iterator[Look]:
    if site.word(block, "reverser") == "no":
        data = {"count": site.count(1, f"reversing section {block.name}")}
        yield Look("section-without-reverser", place(block), _more_than_none, data)
    trains: list[tuple[Datum, str]] = [(site.stock("longest-train"), "the longest conducting train")]
    trains += [(site.datum(v, "length"), v.name) for v in site.all("vehicle") if site.given(v, "length")]
    longest, train = max(trains, key=lambda pair: pair[0].value)
    joints = site.users("joint", "between", block.name)
    gap = site.datum(joints[0], "gap") if joints else site.datum(block, "gap")
    data = {"longest": longest, "bogie": site.trade("bogie"), "gap": gap, "section": site.datum(block, "length")}
    yield Look("section-too-short", place(block), _section, data, {"train": train})
