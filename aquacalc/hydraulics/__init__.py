"""From the plan to what flows: paths and their losses, vessels and their levels, starting and stopping."""
