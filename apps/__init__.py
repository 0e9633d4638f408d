"""Pages and command."""

import os

# One thread for each piece of linear algebra: its matrices are small, and threads that wait for each other take the processor
# from the loop that serves pages (a second for what needs thirty milliseconds, where others use the machine as well).
for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
# What an object lacks is not looked for among similar names: a component is asked for what its model lacks ten times a turn.
os.environ.setdefault("BOKEH_PERFORM_ERROR_DIAGNOSTICS", "no")
