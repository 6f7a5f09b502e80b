"""The one door to experta, with its two repairs.

experta 1.9.4 needs a name that Python 3.10 removed, only while one of its parts is loaded; it is lent and taken
back. And its stock agenda can fire a rule whose condition has become false when four or more activations tie;
the agenda below removes exactly the activation that is meant, and orders ties by the rule's name, so that
nothing depends on hash seeds. Importing experta also adds a handler to the root logger, which is removed.
No other module imports experta. What rules say is left to `strata`.
"""

import bisect
import collections
import collections.abc
import logging
from typing import Any

_root = logging.getLogger()
_before = list(_root.handlers)
_missing = not hasattr(collections, "Mapping")
if _missing:
    collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
try:
    from experta import NOT, Fact, KnowledgeEngine, L, Rule
finally:
    if _missing:
        del collections.Mapping  # type: ignore[attr-defined]
    for _handler in list(_root.handlers):
        if _handler not in _before:
            _root.removeHandler(_handler)

__all__ = ["NOT", "Agenda", "Engine", "Fact", "KnowledgeEngine", "L", "Rule"]


class Agenda(KnowledgeEngine.__strategy__):  # type: ignore[misc]
    """An agenda that never keeps an activation whose condition has become false."""

    def get_key(self, activation: Any) -> tuple[int, list[int], str]:
        """Salience, then newest facts, then the rule's name: a total order."""
        return (
            activation.rule.salience,
            sorted((fact["__factid__"] for fact in activation.facts), reverse=True),
            getattr(activation.rule, "__name__", ""),
        )

    def _update_agenda(self, agenda: Any, added: Any, removed: Any) -> None:
        for activation in removed:
            activation.key = self.get_key(activation)
            if activation in agenda.activations:
                agenda.activations.remove(activation)
        for activation in added:
            activation.key = self.get_key(activation)
            bisect.insort(agenda.activations, activation)


class Engine(KnowledgeEngine):  # type: ignore[misc]
    """A production system with the mended agenda."""

    __strategy__ = Agenda
