"""What is left undone on the layout, and putting it right before a trial that it would make meaningless.

A trial with a wire lifted or power off tells nothing of the mend, whichever way it goes: so what keeps trains from
running is asked for before anybody is asked whether the trouble is gone. What is asked then is left to others.
"""

from collections.abc import Sequence

from troubleshoot.cli.fitting import Fitting
from troubleshoot.diagnosis import Diagnosis
from troubleshoot.dialogue import Option, Prompt
from troubleshoot.inquiry import SetUpChange
from troubleshoot.rulebook import Check


class Undoing(Fitting):
    """One inquiry in a conversation: what must be put right again."""

    def spoils(self, change: SetUpChange, check: Check) -> bool:
        """Whether a state keeps trains from running and so must be put right before a proof that does not need it."""
        states = self.session.rulebook.set_ups
        if change.set_up in check.set_up or any(states[s].power == "off" for s in check.set_up):
            return False
        entry = states[change.set_up]
        return entry.power != "on" or entry.limits_current

    def put_right(self, changes: Sequence[SetUpChange], made: Diagnosis) -> bool:
        """Ask once whether all of these states have been undone; where they have not, nothing goes on."""
        states = self.session.rulebook.set_ups
        todo = [states[c.set_up].undo.replace("{place}", c.place or made.subject.name) for c in changes]
        if not todo:
            return True
        asks = "Still undone:\n" + "\n".join(f"- {text}" for text in todo) + "\nAll of it done now?"
        if not self.agreed(asks, "Not yet", "undone"):
            return False
        self.session.add(*({"set-up": c.set_up, "at": c.place, "state": "left"} for c in changes))
        return True

    def agreed(self, asks: str, no: str, topic: str) -> bool:
        """Whether a question is answered by yes; not knowing is no."""
        options = (Option("yes", "Yes"), Option("no", no))
        return self.asker.ask(Prompt(asks, options, topic=topic, default="yes", unsure="no")) == "yes"
