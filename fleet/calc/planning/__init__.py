"""The parts of the planner; `fleet.calc.outages` is the way in."""
