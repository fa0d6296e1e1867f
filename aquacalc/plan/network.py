"""Which siphon drains which vessel."""

from __future__ import annotations

from aquacalc.plan.model import Plan


def downstream(plan: Plan) -> dict[str, str]:
    """Return {vessel or tee: where its run flows to}; siphon hosts have no entry."""
    return {run.start: run.to for run in plan.runs}


def host_of(plan: Plan) -> dict[str, str]:
    """Return {vessel or tee: host of the siphon that drains it}.

    Raises
    ------
    KeyError
        For a node that leads to no siphon (`check_plan` refuses such a plan).
    """
    to = downstream(plan)
    hosts = {siphon.host for siphon in plan.siphons}
    found = {}
    for node in (*plan.beds, *plan.tees, *plan.chambers):
        name, steps = node.name, 0
        while name not in hosts:
            name, steps = to[name], steps + 1
            if steps > len(to):
                raise KeyError(node.name)
        found[node.name] = name
    return found
