"""Which spare goes to which visit: each serves one, and as many visits as can be are served."""

from collections import deque
from collections.abc import Hashable, Mapping, Sequence
from typing import TypeVar

Visit = TypeVar("Visit", bound=Hashable)
Spare = TypeVar("Spare", bound=Hashable)


def shared_out(wanted: Mapping[Visit, Sequence[Spare]]) -> dict[Visit, Spare]:
    """A spare for as many visits as there can be, none twice: a maximum matching.

    `wanted`: by visit, the spares that would do, the best first. Visits that come first are served
    first; one that is served once stays served, if by another spare. Found by augmenting paths
    (Berge's theorem: a matching is maximum when none is left).
    """
    holder: dict[Spare, Visit] = {}
    for visit in wanted:
        _serve(visit, wanted, holder)
    served = {visit: spare for spare, visit in holder.items()}
    return {visit: served[visit] for visit in wanted if visit in served}


def _serve(
    visit: Visit, wanted: Mapping[Visit, Sequence[Spare]], holder: dict[Spare, Visit]
) -> None:
    """Follow who could give way for whom, breadth first, until a spare is free."""
    asked_by: dict[Spare, Visit] = {}
    waiting = deque([visit])
    while waiting:
        asking = waiting.popleft()
        for spare in wanted[asking]:
            if spare in asked_by:
                continue
            asked_by[spare] = asking
            if spare not in holder:
                _hand_on(spare, visit, asked_by, holder)
                return
            waiting.append(holder[spare])


def _hand_on(
    free: Spare, visit: Visit, asked_by: Mapping[Spare, Visit], holder: dict[Spare, Visit]
) -> None:
    """Along the path back: everyone on it takes the next spare and leaves the one it had."""
    held = {owner: spare for spare, owner in holder.items()}
    spare: Spare | None = free
    while spare is not None:
        taker = asked_by[spare]
        holder[spare] = taker
        spare = None if taker == visit else held[taker]
