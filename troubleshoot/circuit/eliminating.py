"""The conductances of a circuit, taken apart once so that currents put into nodes soon tell their volts.

Rules: one door, two ways to the same answer. Up to FEW nodes, node after node is replaced by a mesh between its
neighbours (the star-mesh transform: g_jk grows by g_j g_k / sum of g), that with the fewest neighbours first. Nothing
is ever subtracted, so a part that hangs on a billion ohms keeps its digits. Larger circuits go to SuperLU, and only
they load scipy: 30 MB and a quarter of a second, which a club of ordinary size need not spend.
Source: star-mesh transform (textbooks of network theory), order of least degree (textbooks of sparse elimination).
"""

from collections.abc import Sequence
from heapq import heapify, heappop, heappush
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

Conductance = tuple[int, int, float]
"""Two nodes by number and the siemens between them; the number of nodes itself stands for earth."""

FEW = 1200
"""Up to so many nodes plain Python takes a circuit apart, in less time than scipy needs to load (measured)."""
_COLUMNS = 8
"""From so many right sides on, whole rows are added at once."""


class Apart(Protocol):
    """A circuit taken apart."""

    def solve(self, right: Numbers) -> Numbers:
        """The volts of every node, from the amps put into each; one column for each case, or one case alone."""


def apart(count: int, conductances: Sequence[Conductance]) -> Apart:
    """A circuit of so many nodes, each of which some conductance ties to earth, taken apart."""
    return Stars(count, conductances) if count <= FEW else Factors(count, conductances)


def load(count: int) -> None:
    """Load what a circuit of so many nodes will need, ahead of time."""
    if count > FEW:
        import scipy.sparse.linalg  # noqa: F401


class Stars:
    """A circuit as the stars that were replaced, in their order."""

    def __init__(self, count: int, conductances: Sequence[Conductance]) -> None:
        beside: list[dict[int, float]] = [{} for _ in range(count + 1)]
        for a, b, siemens in conductances:
            beside[a][b] = beside[b][a] = beside[a].get(b, 0.0) + siemens
        self._stars: list[tuple[int, float, list[tuple[int, float]]]] = []
        heap = [(len(beside[node]), node) for node in range(count)]
        heapify(heap)
        while heap:
            size, node = heappop(heap)
            star = beside[node]
            if size == len(star):  # else an older entry: the node has other neighbours now, or is gone
                self._replace(node, star, beside, count)
                beside[node] = {}
                for other in star:
                    if other != count:
                        heappush(heap, (len(beside[other]), other))

    def _replace(self, node: int, star: dict[int, float], beside: list[dict[int, float]], earth: int) -> None:
        total = sum(star.values())
        shares = [(other, siemens / total) for other, siemens in star.items()]
        for at, (other, share) in enumerate(shares):
            mine = beside[other]
            del mine[node]
            for third, _ in shares[at + 1 :]:
                mine[third] = beside[third][other] = mine.get(third, 0.0) + share * star[third]
        self._stars.append((node, total, [(other, share) for other, share in shares if other != earth]))

    def solve(self, right: Numbers) -> Numbers:
        """As `Apart.solve`."""
        if right.ndim == 1:
            return np.array(self._one(right.tolist()))
        if right.shape[1] < _COLUMNS:
            return np.column_stack([self._one(column.tolist()) for column in right.T])
        rows: list[Any] = list(right.copy())
        return np.array(self._one(rows))

    def _one(self, values: list[Any]) -> list[Any]:
        """Amps become volts in their list: forth, each star hands its amps to its neighbours; back, it asks them."""
        for node, _, shares in self._stars:
            amps = values[node]
            for other, share in shares:
                values[other] = values[other] + share * amps
        for node, total, shares in reversed(self._stars):
            volts = values[node] / total
            for other, share in shares:
                volts = volts + share * values[other]
            values[node] = volts
        return values


class Factors:
    """A circuit as the factors of SuperLU."""

    def __init__(self, count: int, conductances: Sequence[Conductance]) -> None:
        from scipy.sparse import coo_matrix
        from scipy.sparse.linalg import splu

        a = np.array([c[0] for c in conductances], dtype=np.intp)
        b = np.array([c[1] for c in conductances], dtype=np.intp)
        siemens = np.array([c[2] for c in conductances])
        rows, cols = np.concatenate((a, b, a, b)), np.concatenate((a, b, b, a))
        data = np.concatenate((siemens, siemens, -siemens, -siemens))
        inside = (rows < count) & (cols < count)
        matrix = coo_matrix((data[inside], (rows[inside], cols[inside])), shape=(count, count)).tocsc()
        self._lu: Any = splu(matrix, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})

    def solve(self, right: Numbers) -> Numbers:
        """As `Apart.solve`."""
        solved: Numbers = self._lu.solve(right)
        return solved
