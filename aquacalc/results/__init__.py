"""What a plan does: a run, its cycle, its inflow window."""
