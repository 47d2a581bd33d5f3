"""Walk tests before anyone walks: which places, how many walks in what order, with what chance of passing."""
