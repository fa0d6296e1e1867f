"""The system in time as plain float kernels: tables, network, engine, and the plan packed for them.

Every kernel function takes flat one-dimensional buffers and uses only `math`,
so that the same source runs in the interpreter on lists (one plan, nothing to
compile) and through numba on arrays (thousands of plans).
"""
