"""How the papers word minutes, prices and states: plain text, no mark-up of any kind.

What the screen says in the same words is in `rulebook.wording`.
"""

from collections.abc import Mapping

STATES: Mapping[str, str] = {
    "open": "open: the cause is not settled yet",
    "lost": "open: nothing in the rules explains it well",
    "mended": "mended, and not proven yet",
    "proven": "mended and proven; to be closed",
    "partly": "partly mended: a second fault is looked for",
    "hand-over": "open: nothing more can be checked with what is at hand",
    "closed": "closed: mended and proven",
    "by-hand": "closed: found and mended by hand; no rule names it",
}
"""Where a case stands, in words."""

PRICES: Mapping[str, str] = {
    "nothing": "", "parts": ", and parts", "cuts-wire": "; it cuts a wire", "cuts-rail": "; it cuts the rail",
}  # fmt: skip


def minutes(value: float) -> str:
    """Minutes of work, never more exact than they are."""
    return f"about {value:.0f} min" if value >= 1 else "under a minute"
