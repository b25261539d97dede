"""The solver as the planner uses it: sparse rows, a beat while it works, a count of what it cost.

scipy's HiGHS is given shares of limits rather than hours, so that its tolerances are small beside
one hour. What it answers is checked exactly by whoever asked.
"""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from fleet.calc.planning.facts import Effort, Progress
from fleet.calc.planning.quiet import diverted

BEAT_SECONDS = 0.5
LEAVING_SECONDS = 30  # a process that ends while the library's threads work is aborted
Floats = NDArray[np.float64]


class OutOfTime(Exception):
    """The wall time allowed is over: whoever asks answers with what stands."""


@dataclass(frozen=True)
class Sparse:
    """Rows: column numbers, coefficients, the most their sum may be, and the least if any."""

    columns: tuple[NDArray[Any], ...]
    factors: tuple[Floats, ...]
    most: tuple[float, ...]
    least: tuple[float, ...] = ()
    units: tuple[float, ...] = ()  # what one of each goal held is in its row

    def matrix(self, width: int) -> sparse.csr_matrix:
        lengths = [len(each) for each in self.columns]
        starts = np.concatenate(([0], np.cumsum(lengths)))
        data = np.concatenate(self.factors) if self.factors else np.zeros(0)
        indices = np.concatenate(self.columns) if self.columns else np.zeros(0, np.int64)
        return sparse.csr_matrix((data, indices, starts), shape=(len(lengths), width))


@dataclass(frozen=True)
class Answer:
    """`at` is None where the solver found nothing; `is_proved` where it said that this is best."""

    values: Floats | None
    bound: float
    is_proved: bool
    is_impossible: bool = False


@dataclass
class Run:
    """One piece of planning: what it may cost, what it has cost, whom it tells."""

    effort: Effort
    progress: Progress
    nodes: int = 0
    rounds: int = 0
    stopped_by_time: bool = False
    _began: float = field(default_factory=time.monotonic)
    _step: tuple[str, int, int] = ("", 0, 0)

    def say(self, doing: str, done: int, total: int) -> None:
        self._step = (doing, done, total)
        self.progress(doing, done, total)

    def left(self) -> float:
        """Seconds of wall time; OutOfTime when there are none."""
        left = self.effort.seconds - (time.monotonic() - self._began)
        if left <= 0:
            self.stopped_by_time = True
            raise OutOfTime
        return left

    def _note_time(self) -> None:
        over = time.monotonic() - self._began >= self.effort.seconds
        self.stopped_by_time = self.stopped_by_time or over

    def _beating(self, work: Callable[[], Any]) -> Any:
        """Work done in a thread (the solver lets go of the interpreter), so that `progress` is told
        all the while and may raise to leave, as soon as the solver has ended the step it is at."""
        done: dict[str, Any] = {}

        def go() -> None:
            try:
                done["result"] = work()
            except Exception as error:
                done["error"] = error

        thread = threading.Thread(target=go, daemon=True)
        with diverted():
            thread.start()
            thread.join(BEAT_SECONDS)
            while thread.is_alive():
                try:
                    self.progress(*self._step)
                except BaseException:
                    thread.join(LEAVING_SECONDS)
                    raise
                thread.join(BEAT_SECONDS)
        if "error" in done:
            raise done["error"]
        return done["result"]

    def whole_numbers(
        self,
        cost: Floats,
        rows: Sparse,
        whole: Floats,
        *,
        nodes: int,
        gap: float,
        is_narrow: bool = False,
    ) -> Answer:
        """The least cost with the columns marked `whole` 0 or 1 (others 0 or more). What is narrow
        already gains nothing by being made smaller first: measured at half the time."""
        upper = np.where(whole > 0, 1.0, np.inf)
        options = {
            "node_limit": nodes,
            "mip_rel_gap": gap,
            "time_limit": self.left(),
            "presolve": not is_narrow,
        }
        least = np.array(rows.least) if rows.least else -np.inf
        limits = LinearConstraint(rows.matrix(len(cost)), least, np.array(rows.most))
        result = self._beating(
            lambda: milp(
                cost,
                integrality=whole,
                bounds=Bounds(0, upper),
                constraints=limits,
                options=options,
            )
        )
        self.nodes += int(result.mip_node_count or 0)
        bound = -np.inf if result.mip_dual_bound is None else float(result.mip_dual_bound)
        self._note_time()
        proved = result.status == 0 and not gap
        return Answer(result.x, bound, proved, result.status == 2)

    def relaxed(self, cost: Floats, rows: Sparse, upper: Floats) -> Any:
        """scipy's answer to the linear problem, with its marginals; OutOfTime when it took all."""
        matrix = rows.matrix(len(cost))
        result = self._beating(
            lambda: linprog(
                cost,
                A_ub=matrix,
                b_ub=np.array(rows.most),
                bounds=np.column_stack((np.zeros(len(cost)), upper)),
                method="highs",
                options={"time_limit": self.left()},
            )
        )
        if result.status == 1:
            self.stopped_by_time = True
            raise OutOfTime
        return result
