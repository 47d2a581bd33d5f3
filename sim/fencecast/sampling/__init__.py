"""Named random variables, their Sobol dimensions and scramblings."""
