"""Making a step fit into the window, so that nothing of it has to be scrolled back to.

In this order: fewer suspects above it, cautions read before by their titles, new cautions on pages of their own before
the step, fewer figures of the circuit. Nothing is lost by it: a key tells cautions and figures in full, another the
whole ranking. Without a terminal there is no window, and everything is told at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from troubleshoot import dialogue, screen
from troubleshoot.cli.asking import TURNS, Asking, cautions_of, check_prompt, remedy_prompt
from troubleshoot.cli.hunting import lift_first
from troubleshoot.diagnosis import ByCircuit, CheckStep, Diagnosis, RemedyStep
from troubleshoot.dialogue import Option, Prompt
from troubleshoot.screen import RenderableType

HEADING = 1
"""Rows of the heading of a page."""
FEW_FIGURES = 3
"""Figures of the circuit on a crowded screen: the healthy one, and those of the two first suspects."""
READ = Prompt(
    "Read this before the step that follows. Go on?",
    (Option("read", "Yes, it is read"), Option("!save", "Save and stop")),
    topic="cautions",
    default="read",
)


@dataclass(frozen=True)
class Fit:
    """How much of a step is shown: suspects above it, its manner, figures, and new cautions on pages before it."""

    suspects: int = screen.SUSPECTS
    manner: screen.Manner = screen.FULL
    figures: int | None = None
    paged: bool = False


TITLES, BRIEF = screen.Manner(titles=True), screen.Manner(titles=True, brief=True)
PLAIN = (Fit(), Fit(screen.FEW_SUSPECTS), Fit(screen.FEW_SUSPECTS, TITLES))
"""Ways to show a step with its new cautions above it, the roomiest first."""
CLOSE = (Fit(screen.FEW_SUSPECTS, BRIEF, FEW_FIGURES), Fit(0, BRIEF, FEW_FIGURES))
"""Ways to show a step that holds no new caution and does not fit by any of PLAIN."""
APART = Fit(screen.FEW_SUSPECTS, screen.Manner(titles=True, brief=True, apart=True), FEW_FIGURES, paged=True)
"""The last way: cautions and what comes first on pages, then what is to be done and read."""
PAGED = tuple(replace(fit, paged=True) for fit in (*PLAIN[1:], CLOSE[0]))
"""Ways to show a step behind the pages of its new cautions."""


class Fitting(Asking):
    """One inquiry in a conversation: how its steps are laid out."""

    def top(self, made: Diagnosis, suspects: int) -> RenderableType:
        """What stands above a step: danger, what is undone, so many suspects."""
        title = f"Case {self.session.case.name}"
        return screen.overview(self.session.rulebook, made, title, self.order, suspects)

    def shown(self, made: Diagnosis, circuit: Sequence[ByCircuit], fit: Fit) -> list[RenderableType]:
        """A step as it fits; after pages of cautions, with danger and what is undone above it again."""
        seen = self.seen | frozenset(self._new(made)) if fit.paged else self.seen
        step = screen.step_screen(self.session.rulebook, made, seen, circuit[: fit.figures], fit.manner)
        above = [screen.overview(self.session.rulebook, made, "", self.order, 0)] if fit.paged else []
        return [*above, step, *lift_first(self.session, made, "l leads on from lift to lift")]

    def fit(self, made: Diagnosis, circuit: Sequence[ByCircuit]) -> Fit:
        """The roomiest way to show a step in this window; the closest where none fits."""
        if not self.out.is_terminal or made.step is None or made.state in ("proven", "mended") or made.deduced.stop:
            return Fit()
        first = screen.first_lines(self.session.rulebook, made.step)
        ways: tuple[Fit, ...] = (*PLAIN, *(PAGED if self._new(made) else CLOSE), *((APART,) if first else ()))
        height, least = self.out.size.height - self._asked(made), dict[Fit, int]()
        for fit in ways:
            least[fit] = self._rows(made, circuit, fit)
            if least[fit] <= height:
                return fit
        return min(ways, key=lambda fit: least[fit])

    def _rows(self, made: Diagnosis, circuit: Sequence[ByCircuit], fit: Fit) -> int:
        above = [] if fit.paged else [self.top(made, fit.suspects)]
        return screen.rows(self.out, *above, *self.shown(made, circuit, fit))

    def _asked(self, made: Diagnosis) -> int:
        """Rows of the question under a step."""
        width = self.out.width
        if isinstance(made.step, CheckStep):
            return dialogue.rows(check_prompt(made.step, TURNS if made.state == "lost" else ()), width)
        if isinstance(made.step, RemedyStep):
            return dialogue.rows(remedy_prompt(made.step.remedy.name, made.step.place), width)
        return 0

    def _new(self, made: Diagnosis) -> list[str]:
        """Cautions of a step that have not been told in full; none for mere looking."""
        if isinstance(made.step, CheckStep) and screen.looking(made.step):
            return []
        known = self.session.rulebook.cautions
        return [n for n in cautions_of(made.step) if n in known and n not in self.seen]

    def _on_one(self, parts: Sequence[RenderableType], room: int) -> bool:
        return screen.rows(self.out, *parts) <= room

    def read_first(self, made: Diagnosis, fit: Fit) -> bool:
        """Tell what belongs on pages before a step, each page read before the next; False to stop."""
        rulebook, step = self.session.rulebook, made.step
        told = screen.cautions_in_full(rulebook, self._new(made))
        first: list[RenderableType] = []
        if step is not None and fit.manner.apart:
            first = [*screen.first_lines(rulebook, step), *screen.waits_lines(rulebook, step, made.in_force)]
        room = self.out.size.height - dialogue.rows(READ, self.out.width) - HEADING
        above = screen.rows(self.out, self.top(made, fit.suspects))
        while left := [*told, *first]:
            # what comes first stands on a page with the cautions, or on one of its own
            count = len(left) if self._on_one(left, room - above) else len(told) or len(left)
            while count > 1 and not self._on_one(left[:count], room - above):
                count -= 1
            self.out.print(screen.heading("Before the step that follows", "bold yellow"))
            for part in left[:count]:
                self.out.print(part)
            if self.ask(made, READ, step) == "!save":
                return False
            told, first, above = told[count:], first[max(0, count - len(told)) :], 0
        self.seen |= frozenset(self._new(made))
        return True
