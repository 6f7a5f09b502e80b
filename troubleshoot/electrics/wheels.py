"""Wheels and turnouts where they touch: gauge by scale, margins that keep wheel backs off the wrong rail.

Rules: metres. Figures by scale are limits, not targets. An 'OO' record means finer 16.5 mm track with HO
wheels, unless its own figures say otherwise.
"""

from collections.abc import Mapping
from dataclasses import dataclass

MM = 1e-3
"""One millimetre in metres."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """Limits of wheels and track of a scale, in metres."""

    gauge: float
    gauge_most: float
    back_to_back_least: float
    back_to_back_most: float
    flange: float
    check_gauge: float
    flangeway: float
    tyre: float


def _gauge(*millimetres: float) -> Gauge:
    return Gauge(*(mm * MM for mm in millimetres))


GAUGES: Mapping[str, Gauge] = {
    "HO": _gauge(16.5, 17.1, 14.38, 14.6, 0.76, 15.37, 1.27, 2.74),
    "N": _gauge(9.0, 9.3, 7.4, 7.6, 0.56, 8.2, 1.0, 1.80),
    "TT": _gauge(12.0, 12.3, 10.2, 10.4, 0.66, 11.1, 1.1, 1.96),
    "O": _gauge(31.8, 32.6, 28.4, 29.0, 1.19, 29.9, 2.01, 4.37),
    "S": _gauge(22.42, 22.99, 20.32, 20.6, 0.76, 21.32, 1.27, 2.74),
    "Z": _gauge(6.5, 6.7, 5.25, 5.5, 0.51, 5.9, 0.8, 1.35),
}
"""By scale.

Source: NMRA S-3.2 and S-4.2, NEM 310 (2009); values the texts leave out are scaled by gauge (estimate).
"""


def gauge_of(scale: str) -> Gauge:
    """Limits of a scale, HO for one that is not listed (OO shares its gauge).

    Units: m. Source: as `GAUGES`.
    """
    return GAUGES.get(scale.upper(), GAUGES["HO"])


def guard_span_margin(back_to_back: float, check_gauge: float, flangeway: float) -> float:
    """Room between wheel backs and the span of guard and wing rail; below 0 a wheelset jams or climbs.

    Formula: B - (C - F). Units: m. Source: NMRA S-3.2 definitions.
    """
    return back_to_back - (check_gauge - flangeway)


def frog_margin(back_to_back: float, flange: float, check_gauge: float) -> float:
    """Room before a flange picks the frog; below 0 it does.

    Formula: C - (B + T). Units: m. Source: NMRA S-3.2.
    """
    return check_gauge - (back_to_back + flange)


def wheel_back_reach(gauge: float, back_to_back: float, flange: float) -> float:
    """How near to its stock rail a wheel back comes when the other flange is hard over.

    Formula: G - (B + T). Units: m. Source: arithmetic on the definitions of NMRA S-3.2 and S-4.2.
    """
    return gauge - (back_to_back + flange)


def open_blade_margin(opening: float, gauge: float, back_to_back: float, flange: float) -> float:
    """Room between a wheel back and the open blade; at 0 or below they touch and short.

    Formula: opening - (G - (B + T)). Units: m. Source: arithmetic on NMRA S-3.2 and S-4.2.
    """
    return opening - wheel_back_reach(gauge, back_to_back, flange)


def least_blade_opening(scale: str) -> float:
    """Opening that an open blade needs along its whole length.

    2.0 mm in HO with track near gauge; other scales by their gauge. Units: m. Source: arithmetic on
    NMRA S-3.2 and S-4.2, rounded up.
    """
    return 2.0 * MM * gauge_of(scale).gauge / GAUGES["HO"].gauge


def least_gap(scale: str) -> float:
    """Least width of a rail gap that stays open: 0.4 mm in HO, never below 0.3 mm.

    Units: m. Source: common practice.
    """
    return max(0.3 * MM, 0.4 * MM * gauge_of(scale).gauge / GAUGES["HO"].gauge)


def most_stagger(scale: str) -> float:
    """Greatest offset of the gaps in the two rails of one joint: 1 mm in HO and above, less in small scales.

    Within the offset both rails are equal, so a pickup set shorter than it stands dead. Units: m.
    Source: common practice.
    """
    return min(1.0 * MM, 1.0 * MM * gauge_of(scale).gauge / GAUGES["HO"].gauge)


def tyre_bridges(rail_distance: float, tyre: float, flange: float) -> bool:
    """Whether a tyre reaches across two rails near a frog.

    Formula: distance < tyre - flange. Units: m. Source: geometry.
    """
    return rail_distance < tyre - flange
