"""The shapes of a layout record, as strict pydantic models; also the source of the JSON Schema for editors.

Only form is judged here: keys, lists and mappings, and words from closed lists. Figures keep their units as
typed and references are plain names; `building` reads the ones and `checking` the others. Imported only
when a record has to be read afresh.
"""

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, WithJsonSchema


def _scalar(value: object) -> object:
    """One value, not a list or a mapping; told in one sentence where a choice of types would take three."""
    if not isinstance(value, str | int | float):
        raise ValueError("must be one value, such as '2 m' or a name")
    return value


Amount = Annotated[Any, AfterValidator(_scalar), WithJsonSchema({"type": ["string", "number"]})]
Name = Annotated[Any, AfterValidator(_scalar), WithJsonSchema({"type": ["string", "integer"]})]
YesNo = Literal["yes", "no", "unknown"]
DetectorKind = Literal["coil", "diode-drop", "optical", "contact", "unknown"]


class Shape(BaseModel):
    """A strict record: an unknown key is a slip of the pen. Keys have hyphens for underscores."""

    model_config = ConfigDict(
        extra="forbid",
        strict=True,
        alias_generator=lambda name: name.replace("_", "-"),
        populate_by_name=False,
    )


class Thing(Shape):
    """What every part may carry: what the owner calls it, and where it is."""

    says: str | None = None
    where: str | None = None


class KitShape(Shape):
    """The owner's tools, asked once."""

    meter: Literal["none", "average", "true-rms", "unknown"] | None = None
    bandwidth: Amount | None = None
    highest_ohms: Amount | None = None
    clamp_meter: YesNo | None = None
    lamp: YesNo | None = None
    second_person: YesNo | None = None
    resistors: YesNo | None = None
    coin: YesNo | None = None
    wire_jumper: YesNo | None = None
    gauge: YesNo | None = None
    feeler: YesNo | None = None
    lens: YesNo | None = None
    hygrometer: YesNo | None = None
    video: YesNo | None = None
    capacitance_meter: YesNo | None = None
    oscilloscope: YesNo | None = None
    monitor: YesNo | None = None
    throttle: YesNo | None = None
    battery: YesNo | None = None
    magnet: YesNo | None = None
    cold_pack: YesNo | None = None
    fan: YesNo | None = None
    programming_track: YesNo | None = None
    thermometer: YesNo | None = None
    stopwatch: YesNo | None = None


class SupplyShape(Thing):
    """A power supply, seen from its low-voltage side only."""

    volts: Amount | None = None
    limit: Amount | None = None


class BoosterShape(Thing):
    """A booster."""

    limit: Amount | None = None
    delay: Amount | None = None
    output: Amount | None = None
    source_ohms: Amount | None = None
    reference: Literal["common", "isolated", "unknown"] | None = None
    supply: Name | None = None


class SegmentShape(Thing):
    """A stretch of bus: wire and one-way length."""

    wire: Amount | None = None
    length: Amount | None = None


class DistrictShape(Thing):
    """A power district behind one breaker."""

    booster: Name | None = None
    breaker: Literal["none", "electronic", "thermal", "lamp", "fitted"] | None = None
    trip: Amount | None = None
    delay: Amount | None = None
    bus: SegmentShape | list[SegmentShape] | None = None
    filter: YesNo | None = None
    filter_ohms: Amount | None = None
    filter_capacitance: Amount | None = None
    filter_watts: Amount | None = None


class PlugShape(Thing):
    """A connector between baseboards."""

    between: list[Name] = []
    ways: Amount | None = None


class DuctShape(Thing):
    """A duct or loom that wires share."""

    boards: list[Name] = []


class DetectorShape(Thing):
    """An occupancy detector board."""

    kind: DetectorKind | None = None
    sensing: Literal["averaging", "peak", "rms"] | None = None
    threshold: Amount | None = None
    passes: Amount | None = None
    zones: Amount | None = None
    drop: Amount | None = None
    address: Amount | None = None
    booster: Name | None = None
    supply: Name | None = None
    board: Name | None = None


class FeederShape(Thing):
    """The wires from bus or detector to a block."""

    wire: Amount | None = None
    length: Amount | None = None
    spacing: Literal["apart", "loose-pair", "twisted", "bundled"] | None = None
    capacitance: Amount | None = None
    duct: Name | list[Name] | None = None
    plug: Name | list[Name] | None = None


class BlockShape(Thing):
    """A length of track that is switched or watched as one."""

    district: Name | None = None
    detector: Name | None = None
    zone: Amount | None = None
    length: Amount | None = None
    rail_code: Amount | None = None
    rail_ohms: Amount | None = None
    gap: Amount | None = None
    feeder: FeederShape | None = None
    feeds: Amount | None = None
    filter: YesNo | None = None
    joints: list[Name] = []
    material: str | None = None
    board: Name | None = None
    reach: Literal["easy", "awkward", "hard"] | None = None
    reversing: YesNo | None = None
    reverser: YesNo | None = None
    accessories: list[Name] | None = None


class JointShape(Thing):
    """A gap or insulated joint between two blocks; its name may say which: `yard-1/yard-2`."""

    between: list[Name] | None = None
    gap: Amount | None = None
    offset: Amount | None = None
    insulated: YesNo | None = None


class DecoderShape(Thing):
    """An accessory decoder."""

    address: Amount | None = None
    base: Amount | None = None
    outputs: Amount | None = None
    pulse: Amount | None = None
    supply: Name | None = None
    board: Name | None = None
    discharge_unit: YesNo | None = None
    storage: Amount | None = None
    charge_ohms: Amount | None = None


class FeedbackShape(Thing):
    """How a turnout reports where it lies."""

    kind: Literal["none", "contact", "optical", "computed", "unknown"] | None = None
    input: Name | None = None
    volts: Amount | None = None
    pull_up: Amount | None = None
    length: Amount | None = None


class TurnoutShape(Thing):
    """A turnout and its motor."""

    number: Amount | None = None
    decoder: Name | None = None
    output: Amount | None = None
    motor: Literal["stall", "coil", "servo", "hand", "unknown"] | None = None
    motor_ohms: Amount | None = None
    motor_current: Amount | None = None
    discharge_unit: YesNo | None = None
    frog: Literal["insulated", "by-points", "by-contact", "by-relay", "by-reverser", "unknown"] | None = None
    frog_length: Amount | None = None
    feedback: Literal["none", "contact", "optical", "computed", "unknown"] | FeedbackShape | None = None
    block: Name | None = None
    board: Name | None = None


class RouteShape(Thing):
    """A stored route: turnouts, with how each lies if wanted, and the blocks it runs through."""

    turnouts: list[Name] | dict[str, str] = []
    blocks: list[Name] = []


class DriverShape(Thing):
    """What lights signals, where it is not an accessory decoder."""

    supply: Name | None = None
    board: Name | None = None


class SignalShape(Thing):
    """A signal."""

    heads: Amount | None = None
    address: Amount | None = None
    driver: Name | None = None
    block: Name | None = None
    listens_to: list[Name] = []


class LengthShape(Thing):
    """A stretch of the control bus."""

    length: Amount | None = None


class ControlBusShape(Thing):
    """The cable that joins command station, throttles, panels and boards."""

    length: Amount | None = None
    wire: Amount | None = None
    device_current: Amount | None = None
    supply: Name | None = None
    interface: str | None = None
    segments: dict[str, LengthShape | None] = {}
    panels: dict[str, Thing | None] | None = None
    throttles: dict[str, Thing | None] | None = None


class VehicleShape(Thing):
    """A vehicle worth naming."""

    axle_ohms: Amount | None = None
    length: Amount | None = None
    wheelbase: Amount | None = None
    storage: Amount | None = None


class StockShape(Shape):
    """Locomotives and cars as a whole."""

    axle_ohms: Amount | None = None
    resistor_axles: YesNo | None = None
    longest_train: Amount | None = None
    shortest_wheelbase: Amount | None = None
    storage: Amount | None = None
    storage_charge_ohms: Amount | None = None
    storage_vehicles: Amount | None = None
    storage_capacitors: YesNo | None = None
    vehicles: dict[str, VehicleShape | None] = {}


class RecordShape(Thing):
    """A layout record. Only the name is needed."""

    name: str
    scale: Literal["Z", "N", "TT", "HO", "OO", "S", "O", "large"] | None = None
    track_volts: Amount | None = None
    common_rail: YesNo | None = None
    reversing: YesNo | None = None
    filter: YesNo | None = None
    kit: KitShape | None = None
    supplies: dict[str, SupplyShape | None] | None = None
    boosters: dict[str, BoosterShape | None] | None = None
    districts: dict[str, DistrictShape | None] | None = None
    boards: dict[str, Thing | None] | None = None
    plugs: dict[str, PlugShape | None] | None = None
    ducts: dict[str, DuctShape | None] | None = None
    detectors: dict[str, DetectorShape | None] | None = None
    blocks: dict[str, BlockShape | None] | None = None
    joints: dict[str, JointShape | None] | None = None
    decoders: dict[str, DecoderShape | None] | None = None
    turnouts: dict[str, TurnoutShape | None] | None = None
    routes: dict[str, RouteShape | None] | None = None
    drivers: dict[str, DriverShape | None] | None = None
    signals: dict[str, SignalShape | None] | None = None
    control_bus: ControlBusShape | Literal["none"] | None = None
    stock: StockShape | None = None
