"""The plan: records, TOML in and out, checks, edits."""

from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan
from aquacalc.plan.read import plan_from_text, read_plan
from aquacalc.plan.write import save_plan, write_plan

__all__ = ["Plan", "PlanError", "check_plan", "plan_from_text", "read_plan", "save_plan", "write_plan"]
