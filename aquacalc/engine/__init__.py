"""The system in time as plain float kernels: state with names, tables, network, and a plan packed for them.

Every kernel takes records of arrays (`state.py`) and uses only `math`, so that
the same source runs in the interpreter on lists (one plan, nothing to
compile) and through numba (thousands of plans).
"""
