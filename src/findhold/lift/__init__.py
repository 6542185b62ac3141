"""Lifting and carrying: the board under the block, the hands on it, the mass and where it acts.

Front doors: plan.plan_lift(LiftInputs) -> LiftPlan, plan.lift_lines(plan) for the packing sheet, way.round_of for
several boxes in one go. Two filters stand beside each other, the revised NIOSH lifting equation (niosh) and the risk
filter by height and reach (guideline); the smallest team within both is told (hands). Neither is a limit, and nothing
here says that a load is safe. Measuring a block, by tape or from a scan, stands in measured.
"""
