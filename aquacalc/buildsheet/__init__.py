"""From the plan to the workbench: what to cut, drill, buy and carry, and in what order."""
