"""The bench test: a bucket, a hose and a jug find where a siphon starts and stops before anything is cut.

Standpipe, bell and tail as planned stand in a bucket. Each trial is one flow held steady, and what
the siphon did. `belief` holds what is known of the two flows, `next_flow` says which flow to try,
`trials` keeps the readings in a dated file beside the plan, and `session` ties them to a plan.
"""
