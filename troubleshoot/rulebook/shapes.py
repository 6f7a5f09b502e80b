"""The shapes of a pack's files, as strict pydantic models; also the source of the JSON Schema for editors.

Only the form of one entry is judged here: keys, types, and words from closed lists. Whether names exist and
whether the matrix is decided is judged by `linking` and `matrix`. Imported only when a file has to be read
afresh: a start in which nothing changed never imports pydantic.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Word = Literal["always", "usually", "often", "sometimes", "seldom", "never"]
Name = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
Ref = Annotated[str, Field(pattern=r"^([a-z0-9-]+/)?[a-z0-9]+(-[a-z0-9]+)*$", max_length=100)]
Text = Annotated[str, Field(min_length=2, max_length=2000)]
Minutes = Annotated[float, Field(ge=0, le=2000)]
Outcome = Annotated[str, Field(min_length=1, max_length=40)]
Words = dict[Outcome, Word]
Stops = Literal["nothing", "block", "district", "layout"]
Tool = Literal[
    "none", "multimeter", "true-rms-meter", "clamp-meter", "lamp", "resistors", "coin", "wire-jumper", "gauge",
    "feeler", "lens", "hygrometer", "video", "capacitance-meter", "oscilloscope", "monitor", "throttle",
    "second-person", "battery", "magnet", "cold-pack", "fan", "programming-track", "thermometer", "stopwatch",
]  # fmt: skip
Family = Literal["occupancy", "power", "turnouts", "signals", "control-bus", "rolling-stock"]
Where = Literal["one", "several", "everywhere"]
When = Literal[
    "always", "at-switch-on", "as-a-train-passes", "as-it-throws", "now-and-then", "after-a-while", "weather"
]
Fact = str | list[str]


class Shape(BaseModel):
    """A strict record: unknown keys are typing errors."""

    model_config = ConfigDict(extra="forbid", strict=True)


class SymptomShape(Shape):
    """One symptom."""

    says: Text
    also_said: list[str] = Field(alias="also-said", min_length=1)
    about: Name
    family: Family
    ask_first: list[Ref] = Field(default=[], alias="ask-first")
    where: list[Where] = []
    when: list[When] = []
    was: list[Name] = []
    replaces: Ref | None = None


class MeasuresShape(Shape):
    """What a reading is in the circuit of a layout: the meter, where its probes go, and what is lifted meanwhile."""

    meter: Literal["ohms", "volts", "current"]
    across: str
    while_: list[str] = Field(default=[], alias="while")


class CheckShape(Shape):
    """One check: a question (choices) or a reading (unit and bands)."""

    asks: Text
    reports: Ref | None = None
    at: str = "itself"
    choices: dict[Outcome, str] | None = None
    unit: str | None = None
    bands: dict[Outcome, str] | None = None
    quiet: Outcome | None = None
    sound: Words | None = None
    elsewhere: Words | None = None
    over_range: Outcome | None = Field(default=None, alias="over-range")
    set_up: list[Ref] = Field(default=[], alias="set-up")
    clean_of: list[Ref] = Field(default=[], alias="clean-of")
    asked: Literal["once"] | None = None
    tool: Tool = "none"
    minutes: Minutes
    keeps_waiting: Stops = Field(default="nothing", alias="keeps-waiting")
    how: Text = ""
    drawing: str = ""
    usual_mistake: str = Field(default="", alias="usual-mistake")
    compare: Literal["resistor-axles", "filter-current"] | None = None
    measures: MeasuresShape | None = None
    lifts: Literal["in-turn"] | None = None
    remarks: dict[Outcome, str] = {}
    cautions: list[Ref] = []
    looks_at: str | None = Field(default=None, alias="looks-at")
    sources: list[str] = []
    was: list[Name] = []
    replaces: Ref | None = None


class StopgapShape(Shape):
    """What lets trains run tonight."""

    do: Text
    minutes: Minutes = 2


class ChainShape(Shape):
    """Where a cause continues as a symptom."""

    symptom: Ref
    at: str


class ExampleShape(Shape):
    """A worked inquiry that a rule must get right."""

    layout: str = "club"
    about: str | None = None
    sick: list[str] = []
    answers: dict[str, Any]
    finds: Literal["first", "first three", "not first", "not first three"] | None = None
    under: Ref | None = None
    like: Ref | None = None


class FaultShape(Shape):
    """What a cause is in the circuit of a layout: a kind of fault and the range of its sizes."""

    kind: str
    from_: str | None = Field(default=None, alias="from")
    to: str | None = None


class CauseShape(Shape):
    """One cause with its row of the matrix."""

    says: Text
    sits_at: str = Field(alias="sits-at")
    explains: dict[Ref, Annotated[float, Field(gt=0, le=95)]] = Field(min_length=1)
    needs: list[str] = []
    shows: dict[Ref, Word | Words]
    as_sound: list[Ref] = Field(default=[], alias="as-sound")
    as_elsewhere: list[Ref] = Field(default=[], alias="as-elsewhere")
    under: dict[Ref, dict[Ref, Word | Words]] = {}
    reads: dict[Ref, Annotated[str, Field(pattern=r"^\d+(\.\d+)? x [a-z0-9-]+$")]] = {}
    fault: FaultShape | None = None
    best_check: Ref = Field(alias="best-check")
    look_alikes: list[Ref] = Field(default=[], alias="look-alikes")
    weak_spots: list[str] = Field(default=[], alias="weak-spots")
    stopgap: StopgapShape | str | None = None
    continues_as: ChainShape | None = Field(default=None, alias="continues-as")
    inseparable_from: dict[Ref, str] = Field(default={}, alias="inseparable-from")
    bolder: dict[Ref, str] = {}
    sources: list[str] = Field(min_length=1)
    examples: list[ExampleShape] = []
    was: list[Name] = []
    replaces: Ref | None = None


class ProofShape(Shape):
    """The test that closes a case."""

    check: Ref
    outcome: Outcome
    quiet_for: str | None = Field(default=None, alias="quiet-for")
    also: str = Field(default="", alias="and")


class RemedyShape(Shape):
    """One remedy."""

    mends: list[Ref] = Field(min_length=1)
    do: Text
    minutes: Minutes
    works: Annotated[float, Field(ge=0.5, le=0.98)] = 0.95
    price: Literal["nothing", "parts", "cuts-wire", "cuts-rail", "lifts-bus"] = "nothing"
    proof: ProofShape
    set_up: list[Ref] = Field(default=[], alias="set-up")
    cautions: list[Ref] = []
    sources: list[str] = []
    was: list[Name] = []
    replaces: Ref | None = None


class CautionShape(Shape):
    """One caution."""

    hazard: Text
    do: Text
    applies: dict[str, str] = {}
    replaces: Ref | None = None


class SetUpShape(Shape):
    """One state of the layout that checks need."""

    says: Text
    power: Literal["on", "off"] | None = None
    supply: Literal["off"] | None = None
    at: str = "itself"
    enter: Minutes
    leave: Minutes
    do: Text
    undo: Text
    stops: Stops = "nothing"
    limits_current: Literal["yes", "no"] = Field(default="no", alias="limits-current")
    disturbs_live: Literal["yes", "no"] = Field(default="no", alias="disturbs-live")
    bridges: Literal["yes", "no"] = "no"
    cautions: list[Ref] = []
    replaces: Ref | None = None


class ThenShape(Shape):
    """What a deduction concludes."""

    raise_: dict[Ref, Annotated[float, Field(gt=0, le=20)]] = Field(default={}, alias="raise")
    rule_out: list[Ref] = Field(default=[], alias="rule-out")
    veto: list[Ref] = []
    make_safe: str | None = Field(default=None, alias="make-safe")
    stop: str | None = None
    caution: list[Ref] = []
    conclude: dict[str, str] = {}


class DeductionShape(Shape):
    """One when-then rule."""

    when: dict[str, Fact] = Field(min_length=1)
    unless: dict[str, Fact] = {}
    then: ThenShape
    because: Text
    example: ExampleShape
    replaces: Ref | None = None


class LogSignShape(Shape):
    """What a kind of finding in a log of events speaks for."""

    speaks_for: list[Ref] = Field(alias="speaks-for", min_length=1)
    answers: dict[Ref, Outcome] = {}
    replaces: Ref | None = None


class ChangeShape(Shape):
    """One line of a pack's history."""

    version: str
    says: str


class PackShape(Shape):
    """The head of a pack: pack.yaml."""

    pack: Name
    version: str
    format: Literal[1]
    says: Text
    owner: Text
    licence: Text
    needs: dict[str, str] = {}
    changes: list[ChangeShape] = []


SECTIONS: dict[str, type[Shape]] = {
    "symptoms": SymptomShape,
    "checks": CheckShape,
    "causes": CauseShape,
    "remedies": RemedyShape,
    "cautions": CautionShape,
    "set-ups": SetUpShape,
    "deductions": DeductionShape,
    "log-signs": LogSignShape,
}


def file_shape(section: str) -> type[Shape]:
    """The model of a whole file that holds one section, such as `causes:`."""
    from pydantic import create_model

    entries: Any = dict[Name, SECTIONS[section]]  # type: ignore[valid-type]
    field: Any = (entries, Field(alias=section))
    return create_model(f"{section.title().replace('-', '')}File", __base__=Shape, entries=field)


def schema(section: str) -> dict[str, Any]:
    """The JSON Schema of one kind of file, so that editors complete and check while typing."""
    model = PackShape if section == "pack" else file_shape(section)
    return model.model_json_schema(by_alias=True)
