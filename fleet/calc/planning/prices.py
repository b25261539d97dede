"""What one more bench hour in a slot would bring: the prices of the relaxed problem."""

from decimal import Decimal

from fleet.calc.planning.direct import Standing
from fleet.calc.planning.engine import Run
from fleet.calc.planning.modelling import Held
from fleet.calc.planning.parts import GIVEN_UP, SUMS, UNPLACED, Part
from fleet.calc.planning.relaxing import relax


def _priced(part: Part, standing: Standing, goal: str, run: Run) -> dict[int, Decimal]:
    """By slot, with the goals before held where the plan has them."""
    found = standing.priced.get(goal)
    if found is None:
        before = SUMS[: SUMS.index(goal)]
        held = Held([(name, part.value(name, standing.at)) for name in before])
        relaxed = relax(part, goal, held, run, is_tilted=False)
        found = relaxed.hours if relaxed else {}
    return {slot: Decimal(f"{figure:.2f}") for slot, figure in found.items()}


def prices(
    part: Part, standing: Standing, run: Run
) -> tuple[dict[int, Decimal], dict[int, Decimal]]:
    """Days saved, and unplaced lines let in, by one more hour in each slot of a part."""
    days = _priced(part, standing, GIVEN_UP, run)
    if not part.value(UNPLACED, standing.at):
        return days, {}
    return days, _priced(part, standing, UNPLACED, run)
