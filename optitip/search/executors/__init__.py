"""Where designs are evaluated: in this process, in worker processes beside it, or on a cluster."""
